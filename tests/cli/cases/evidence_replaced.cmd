howlpoint new whine --profile blank-four-stroke
howlpoint evidence whine fluid-level=high
howlpoint evidence whine fluid-level=right fluid-level-read=as-manual
