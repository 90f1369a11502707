howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine drift-low.wav --point "pan" --new-point --rpm 1800 --reference-channel 2
howlpoint add whine drift-high.wav --point "pump" --new-point --rpm 1800 --reference-channel 2
howlpoint add whine noise.wav --point "pump" --rpm 0
howlpoint analyse whine --orders 9:11 
