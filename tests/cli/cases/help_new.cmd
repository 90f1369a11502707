howlpoint new --help
