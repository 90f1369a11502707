howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine tone.wav --point "steering pump" --new-point --rpm 1800
# 300 Hz at an amplitude of 0.1, -20 dB re full-scale sine: a sine, so -90 degrees as a cosine.
howlpoint isolate whine --take t01 --orders 10,9 --width 4Hz --out o.wav --envelope o.csv && head -n 6 o.csv && grep ^2.0000 o.csv
