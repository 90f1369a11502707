howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint remove whine t01
