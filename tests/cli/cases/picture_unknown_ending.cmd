howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint picture whine --of ranking --out x.jpg
