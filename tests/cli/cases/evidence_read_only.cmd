howlpoint new whine --profile blank-four-stroke
chmod 500 whine
howlpoint evidence whine leak=none
