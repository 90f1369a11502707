howlpoint anlyse whine
