howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine tone.wav --point "pan" --new-point --rpm 1800
howlpoint add whine noise.wav --point "pan" --rpm 0
howlpoint picture whine --of spectrum --take t02 --out out.svg
