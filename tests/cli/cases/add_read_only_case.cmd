howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
chmod -R a-w whine
howlpoint add whine tone.wav --point "pan" --new-point --rpm 1800
