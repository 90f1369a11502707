# The case stays as it was, also for the fact that is right.
howlpoint new whine --profile blank-four-stroke
howlpoint evidence whine leak=none fluid-levle=low
