howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
mkdir folder
howlpoint add whine folder --point "pan" --new-point --rpm 1800
