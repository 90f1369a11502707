howlpoint unpack tone.wav whine
