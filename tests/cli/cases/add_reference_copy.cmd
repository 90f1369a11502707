howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine mono-in-stereo.wav --point "pan" --new-point --rpm 1800 --reference-channel 2
