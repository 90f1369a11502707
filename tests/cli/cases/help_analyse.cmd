howlpoint analyse --help
