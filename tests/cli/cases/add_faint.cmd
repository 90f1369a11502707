howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine faint.wav --point "pan" --new-point --rpm 1130
