howlpoint new whine --profile blank-four-stroke
howlpoint record whine --point "oil pan"
