mkdir empty
howlpoint evidence empty leak=none
