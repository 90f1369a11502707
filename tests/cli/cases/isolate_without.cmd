howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine sweep.wav --point "transmission pan" --new-point --rpm-ramp 0:900,8:3000
howlpoint isolate whine --take t01 --orders 10 --without --width 3% --poles 3 --out rest.wav
