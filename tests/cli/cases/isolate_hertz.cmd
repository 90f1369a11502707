howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine tone.wav --point "steering pump" --new-point --rpm 1800
howlpoint isolate whine --take t01 --hertz 300 --out t.wav --envelope t.csv && sed -n 6p t.csv
