howlpoint add whine tone.wav --point "pan" --new-point --rpm 1800
