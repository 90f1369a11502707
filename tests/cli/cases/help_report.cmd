howlpoint report --help
