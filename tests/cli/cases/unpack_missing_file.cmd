howlpoint unpack nothing.zip whine
