howlpoint new whine
