howlpoint change --help
