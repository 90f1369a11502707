howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine running-tone.wav --point "steering pump" --new-point --rpm 1800
howlpoint add whine running-quiet.wav --point "alternator" --new-point --rpm 1800
howlpoint new after --profile blank-four-stroke --title "After the repair"
howlpoint add after running.wav --point "pump of steering" --new-point --rpm 1805
howlpoint add after running.wav --point "alternator" --new-point --rpm 1805
howlpoint report whine --out whine.pdf --after after --map "steering pump=pump of steering" && pdftotext -raw whine.pdf - | sed -n '/^Before Whine at idle$/,/^330 Hz/p'
