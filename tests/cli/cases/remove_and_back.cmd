# What 'remove' tells is a command that brings the take back.
howlpoint new whine --profile blank-four-stroke --title "Whine at idle"
howlpoint add whine sweep.wav --point "driver's seat" --new-point --rpm-log log.csv --load gear=3
howlpoint remove whine t01 | sed -n 's/.*To have it back: //p' > back
. ./back
