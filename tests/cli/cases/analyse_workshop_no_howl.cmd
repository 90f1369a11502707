# Without a take, what the workshop found still counts.
howlpoint new whine --profile transverse-four-automatic --title "Whine at idle"
howlpoint evidence whine fluid-level=right pan-debris=chips
howlpoint analyse whine
