howlpoint compare before
