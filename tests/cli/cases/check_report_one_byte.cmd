howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine tone.wav --point "steering pump" --new-point --rpm 1800
howlpoint add whine quiet.wav --point "alternator" --new-point --rpm 1800
howlpoint report whine --out whine.pdf
file="$(echo whine/recordings/t01*)"; printf "\001" | dd of="$file" bs=1 seek=1000 conv=notrunc 2>/dev/null
howlpoint check whine
