howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine sweep.wav --point "pan" --new-point --rpm-log late-log.csv
