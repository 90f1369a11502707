howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
sed -i 's|howlpoint.case/1|howlpoint.case/99|' whine/case.json
howlpoint add whine tone.wav --point "pan" --new-point --rpm 1800
