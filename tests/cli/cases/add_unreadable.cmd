howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
chmod 000 tone.wav
howlpoint add whine tone.wav --point "pan" --new-point --rpm 1800
