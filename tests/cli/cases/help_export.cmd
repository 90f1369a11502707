howlpoint export --help
