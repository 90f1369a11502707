howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine tone.wav --point "steering pump" --new-point --rpm 1800
howlpoint add whine quiet.wav --point "alternator" --new-point --rpm 1800
howlpoint report whine --out one.pdf --paper letter
howlpoint report whine --out two.pdf --paper letter
howlpoint report whine --out one.html
howlpoint report whine --out two.html
cmp one.pdf two.pdf && cmp one.html two.html
