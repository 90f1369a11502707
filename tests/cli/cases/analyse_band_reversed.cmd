howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint analyse whine --band 400:300
