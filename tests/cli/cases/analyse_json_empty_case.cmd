howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint analyse whine --json | python3 "$TESTS/json_contract.py"
