howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine running.wav --point pan --new-point --rpm 1800
howlpoint change whine t01 --rpm 1250
