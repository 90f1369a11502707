howlpoint demo --help
