howlpoint unpack --help
