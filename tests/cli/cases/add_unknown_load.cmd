howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine tone.wav --point "pan" --new-point --rpm 1800 --load aircon=off --load steering=maybe --load ac=off
