howlpoint new whine --profile blank-four-stroke
howlpoint evidence whine leak=none leak=elsewhere
