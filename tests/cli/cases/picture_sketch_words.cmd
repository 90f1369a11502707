# The words of the picture: what was recorded, how loud it is, and in which view it lies.
howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine tone.wav --point "steering pump body" --rpm 1800
howlpoint add whine loud.wav --point "oil pan rim" --rpm 1800
howlpoint add whine quiet.wav --point "seat rail" --new-point --rpm 1800
howlpoint picture whine --of sketch --out sketch.svg
sed -n '/<desc>/,/<\/desc>/p' sketch.svg
