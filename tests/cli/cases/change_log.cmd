howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine sweep.wav --point pan --new-point --rpm-log log.csv
howlpoint change whine t01 --rpm-ramp 0:900,8:3000
