howlpoint new before --profile blank-four-stroke --title "Whine at idle"
howlpoint add before running-tone.wav --point "Oil pan" --new-point --rpm 1800
howlpoint new after --profile blank-four-stroke --title "After the repair"
howlpoint add after noise.wav --point "oil pan" --new-point --rpm 1800
howlpoint compare before after --quiet | head -n 8
