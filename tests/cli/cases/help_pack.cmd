howlpoint pack --help
