howlpoint --help
