howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine knock.wav --point "pan" --new-point --rpm 1130
