howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine tone.wav --point "steering pump" --new-point --rpm 1800
howlpoint add whine loud.wav --point "transmission pan" --new-point --rpm 1800
howlpoint add whine quiet.wav --point "alternator" --new-point --rpm 1800
howlpoint add whine tone-2400.wav --point "transmission pan" --new-point --rpm 2400
howlpoint add whine sweep.wav --point "transmission pan" --new-point --rpm-ramp 0:900,8:3000
howlpoint picture whine --of spectrogram --out spectrogram.svg
