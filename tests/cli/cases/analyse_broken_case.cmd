howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
truncate -s 40 whine/case.json
howlpoint analyse whine
