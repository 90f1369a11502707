howlpoint compare before after --map pan
