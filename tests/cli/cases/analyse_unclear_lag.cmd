howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine long-noise.wav --point "pan" --new-point --rpm-log log.csv --quiet
howlpoint analyse whine --quiet | grep -A3 "^Warnings"
