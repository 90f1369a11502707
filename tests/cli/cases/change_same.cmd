howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine running-tone.wav --point "steering pump" --new-point --rpm 1800 --load ac=on --note "warm"
howlpoint change whine t01 --rpm 1800
