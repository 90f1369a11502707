# The howl was 6 dB louder at the pump, where the probe let go after.
howlpoint new before --profile blank-four-stroke --title "Whine at idle"
howlpoint add before running-tone.wav --point "Oil pan" --new-point --rpm 1800
howlpoint add before running-loud.wav --point "pump" --new-point --rpm 1800
howlpoint new after --profile blank-four-stroke --title "After the repair"
howlpoint add after running.wav --point "oilpan" --new-point --rpm 1805
howlpoint add after running-lost.wav --point "pump" --new-point --rpm 1805
howlpoint compare before after
