howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine lost-buffers.wav --point "pan" --new-point --rpm 1130
