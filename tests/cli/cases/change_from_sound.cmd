howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine running.wav --point pan --new-point --rpm 1250
howlpoint change whine t01 --rpm-from-sound --rpm-near 1850
