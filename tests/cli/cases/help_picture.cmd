howlpoint picture --help
