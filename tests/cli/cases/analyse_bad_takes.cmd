howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine clipped.wav --point "pan" --new-point --rpm 1800
howlpoint add whine lost-contact.wav --point "pan" --rpm 1800
howlpoint analyse whine
