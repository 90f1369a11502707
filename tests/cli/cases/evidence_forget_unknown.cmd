howlpoint new whine --profile blank-four-stroke
howlpoint evidence whine fluid-level=high
howlpoint evidence whine --forget fluid-levle
