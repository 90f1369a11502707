howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint analyse whine --band 300:400 --orders 9:11
