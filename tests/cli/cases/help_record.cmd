howlpoint record --help
