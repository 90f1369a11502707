howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine hum.wav --point "pan" --new-point --rpm 1170
