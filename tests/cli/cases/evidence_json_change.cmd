howlpoint new whine --profile blank-four-stroke
howlpoint evidence whine leak=none --json
