howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine noise.wav --point "pan" --new-point --rpm 0
howlpoint add whine quiet.wav --point "pan" --rpm 1800 --background
cat whine/case.json | python3 -c "import json,sys; [print(t[\"id\"], t[\"speed\"], t.get(\"background\")) for t in json.load(sys.stdin)[\"takes\"]]"; howlpoint check whine
