howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine tone.wav --point "pan" --new-point --rpm 1800
howlpoint add whine loud.wav --point "pump" --new-point --rpm 1800
howlpoint add whine tone.wav --point "pump" --rpm 1800 --background --channel 1
howlpoint add whine tone.wav --point "pan" --rpm 1800 --background
howlpoint analyse whine --band 280:320
