howlpoint devices --help
