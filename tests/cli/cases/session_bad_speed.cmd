howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint session whine --rpm 1500,fast
