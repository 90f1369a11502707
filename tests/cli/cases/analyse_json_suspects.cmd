howlpoint new whine --profile transverse-four-automatic --title "Whine at idle"
howlpoint add whine tone.wav --point "steering pump body" --rpm 1800
howlpoint add whine loud.wav --point "transmission pan" --rpm 1800
howlpoint add whine tone-2400.wav --point "transmission pan" --rpm 2400
howlpoint evidence whine pan-debris=chips
howlpoint analyse whine --json > out.json; python3 "$TESTS/json_contract.py" < out.json; python3 -c 'import json; d = json.load(open("out.json")); print(len(d["suspects"]) > 3, len(d["next_tests"]) > 0, *d["verdict"]["whatever_howls"])'; rm out.json
