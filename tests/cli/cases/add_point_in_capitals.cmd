howlpoint new whine --profile blank-four-stroke
howlpoint add whine tone.wav --point "Engine Pan" --new-point --rpm 1800
howlpoint add whine tone.wav --point "engine pan" --new-point --rpm 1800
