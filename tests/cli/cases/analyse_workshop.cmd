# What the workshop found is told, what says little too, and what it means by itself at the head.
howlpoint new whine --profile transverse-four-automatic --title "Whine at idle"
howlpoint add whine running-tone.wav --point "transmission pan" --rpm 1800
howlpoint add whine running-quiet.wav --point "alternator bracket" --rpm 1800
howlpoint evidence whine fluid-level=right fluid-level-read=as-manual pan-debris=chips fluid-look=burnt coolant-level=right
howlpoint analyse whine | sed '/^Suspects/,$d'
