howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine sweep.wav --point "transmission pan" --new-point --rpm-ramp 0:900,8:3000
echo old > order10.wav
howlpoint isolate whine --take t01 --orders 10 --out order10.wav
