howlpoint analyse whine
