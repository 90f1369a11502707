howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint picture whine --of rankin --out x.png
