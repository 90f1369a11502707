howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine lost-contact.wav --point "pan" --new-point --rpm 1800
howlpoint add whine over.wav --point "pan" --rpm 1800
howlpoint analyse whine --json > analysis.json
python3 "$TESTS/json_contract.py" < analysis.json
python3 -c "import json; [print(t['id'], f['kind'], f['severity'], f['text'], len(t['warnings'])) for t in json.load(open('analysis.json'))['takes'] for f in t['quality']]"
