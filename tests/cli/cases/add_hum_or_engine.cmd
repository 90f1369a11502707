howlpoint new whine --profile transverse-four-automatic --title "Whine at idle" --quiet
howlpoint add whine running.wav --point "transmission pan" --rpm 1250
