howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
trap '' XFSZ; ulimit -f 16; howlpoint add whine tone.wav --point "pan" --new-point --rpm 1800
