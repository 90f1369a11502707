howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine drift-low.wav --point "pan" --new-point --rpm 1800 --reference-channel 2
howlpoint add whine drift-high.wav --point "pump" --new-point --rpm 1800 --reference-channel 2
howlpoint add whine noise.wav --point "pump" --rpm 0
howlpoint analyse whine --orders 9:11 --json > out.json; python3 "$TESTS/json_contract.py" < out.json; python3 -c "import json; d=json.load(open(\"out.json\")); [print(t[\"id\"], t[\"background\"], t[\"reference\"] and {k: v if v is None else round(v,1) + 0.0 for k, v in t[\"reference\"].items()}) for t in d[\"takes\"]]; [print(p[\"point\"], p[\"upper_bound\"], round(p[\"level_db\"],1), round(p[\"coherent_level_db\"],1)) for p in d[\"ranking\"]]"; rm out.json
