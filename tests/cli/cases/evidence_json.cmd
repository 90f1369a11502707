howlpoint new whine --profile blank-four-stroke
howlpoint evidence whine fluid-level=low
howlpoint evidence whine --json | python3 -c "import json, sys; d = json.load(sys.stdin); print(d[\"schema\"], d[\"entered\"][0][\"key\"], d[\"entered\"][0][\"value\"], len(d[\"facts\"]) > 5)"
