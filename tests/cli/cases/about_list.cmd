howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint about whine --vehicle "saloon" --job 17
howlpoint about whine --job "" --title "Whine when cold"
howlpoint about whine
