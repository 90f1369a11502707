howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint about whine --vehicle "saloon, 182 000 km" --by "R. Example" --on 2026-05-04 --complaint "Whines in the morning."
