howlpoint evidence --help
