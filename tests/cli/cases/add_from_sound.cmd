howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine running.wav --point pan --new-point --rpm-from-sound
