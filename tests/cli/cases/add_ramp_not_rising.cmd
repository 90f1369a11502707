howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine sweep.wav --point "pan" --new-point --rpm-ramp 0:900,0:3000
