howlpoint session --help
