howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine sweep.wav --point "steering pump" --new-point --rpm-ramp 0:900,8:3000
