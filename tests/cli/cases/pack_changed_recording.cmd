howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine tone.wav --point "steering pump" --new-point --rpm 1800
howlpoint add whine quiet.wav --point "alternator" --new-point --rpm 1800
printf x >> "$(echo whine/recordings/t02*)"
howlpoint pack whine --out whine.zip
