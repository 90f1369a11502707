howlpoint compare --help
