howlpoint bearing --help
