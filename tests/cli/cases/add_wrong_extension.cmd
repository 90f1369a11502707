howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine tone.mp3 --point "pan" --new-point --rpm 1800
