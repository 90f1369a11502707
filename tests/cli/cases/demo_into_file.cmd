touch demo
howlpoint demo demo
