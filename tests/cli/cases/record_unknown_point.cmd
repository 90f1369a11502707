howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint record whine --point "transmision pan" --rpm 1800 --seconds 5
