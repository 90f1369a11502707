howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine tone.wav --point "steering pump" --new-point --rpm 1800
howlpoint isolate whine --take t01 --orders 10 --poles 4 --out x.wav
