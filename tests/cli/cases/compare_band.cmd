howlpoint new before --profile blank-four-stroke --title "Whine at idle"
howlpoint add before tone.wav --point "Oil pan" --new-point --rpm 1800
howlpoint add before loud.wav --point "pump" --new-point --rpm 1800
howlpoint new after --profile blank-four-stroke --title "After the repair"
howlpoint add after quiet.wav --point "oil pan" --new-point --rpm 1800
howlpoint compare before after --band 250:350
