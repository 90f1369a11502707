howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine off-zero.wav --point "pan" --new-point --rpm 1130
