howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine sweep.wav --point "pan" --new-point --rpm-log late-log.csv
# The log begins at 1.5 s: there is no order before.
howlpoint isolate whine --take t01 --orders 10 --out o.wav --envelope o.csv && grep -E "^[14][.]0000" o.csv
