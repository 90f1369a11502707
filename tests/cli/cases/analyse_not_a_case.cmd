mkdir whine
howlpoint analyse whine
