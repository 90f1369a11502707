howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine running-tone.wav --point pan --new-point --rpm-from-sound --rpm-near 1850
