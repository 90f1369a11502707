howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine noise.wav --point "pan" --new-point --rpm 1800
howlpoint analyse whine --json | python3 "$TESTS/json_contract.py"
