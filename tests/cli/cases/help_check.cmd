howlpoint check --help
