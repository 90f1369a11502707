howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine tacho.wav --point "steering pump" --new-point --tacho-channel 2 --pulses-per-rev 1
