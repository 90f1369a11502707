howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine running-tone.wav --point "steering pump" --new-point --rpm 1800 --load ac=on --note "warm"
howlpoint add whine running-quiet.wav --point "alternator" --new-point --rpm 1800
howlpoint change whine t01 --point alternater
