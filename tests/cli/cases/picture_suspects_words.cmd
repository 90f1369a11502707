# The words of the picture: each suspect with its chance, and what speaks for and against it.
howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine tone.wav --point "steering pump body" --rpm 1800
howlpoint add whine loud.wav --point "oil pan rim" --rpm 1800
howlpoint picture whine --of suspects --out suspects.svg
sed -n '/<desc>/,/<\/desc>/p' suspects.svg
