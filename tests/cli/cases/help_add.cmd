howlpoint add --help
