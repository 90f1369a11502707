howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine "Geräusch am Öl.wav" --point "Ölwanne" --new-point --rpm 1800
