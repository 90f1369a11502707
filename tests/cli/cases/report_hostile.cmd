howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine tone.wav --point "steering pump" --new-point --rpm 1800
howlpoint add whine quiet.wav --point "alternator" --new-point --rpm 1800
PYTHONPATH="$TESTS/../report" python3 -B -c "import hostile_case; hostile_case.make('whine')"
howlpoint report whine --out whine.html
howlpoint report whine --out whine.pdf && qpdf --check whine.pdf | tail -2 && ! grep -q "<script" whine.html && howlpoint check whine --report whine.html
