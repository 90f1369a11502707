howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine sweep.wav --point "driver's seat" --new-point --rpm-log log.csv --load gear=3
howlpoint remove whine t01
