howlpoint profiles --help
