# What is entered comes first, then what can be entered.
howlpoint new whine --profile blank-four-stroke
howlpoint evidence whine fluid-level=low leak=pan-gasket --note "rear edge"
howlpoint evidence whine
