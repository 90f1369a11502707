howlpoint remove --help
