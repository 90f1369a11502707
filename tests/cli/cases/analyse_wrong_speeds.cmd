howlpoint new whine --profile transverse-four-automatic --title "Whine at idle"
howlpoint add whine running-tone.wav --point "transmission pan" --rpm 900 --quiet
howlpoint add whine running-quiet.wav --point "bell housing" --rpm 900 --quiet
howlpoint analyse whine --quiet | head -n 20
