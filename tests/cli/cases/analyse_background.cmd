howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine both.wav --point "pan" --new-point --rpm 1800
howlpoint add whine loud.wav --point "pump" --new-point --rpm 1800
howlpoint add whine idle.wav --point "pan" --rpm 1800 --background
howlpoint add whine noise.wav --point "pump" --rpm 0
howlpoint analyse whine
