# Facts are entered, and say what they mean.
howlpoint new whine --profile blank-four-stroke
howlpoint evidence whine fluid-level=low "Fluid_Look=Dark" --note "second reading"
