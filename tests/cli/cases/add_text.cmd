howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine text.wav --point "pan" --new-point --rpm 1800
