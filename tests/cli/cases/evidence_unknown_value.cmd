howlpoint new whine --profile blank-four-stroke
howlpoint evidence whine fluid-level=lwo
