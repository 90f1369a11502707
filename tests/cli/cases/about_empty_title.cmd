howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint about whine --title ""
