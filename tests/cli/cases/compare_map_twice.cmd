howlpoint compare before after --map "oil pan=old pan" --map "oil pan=pump"
