howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine noise.wav --point "pan" --new-point --rpm 0
