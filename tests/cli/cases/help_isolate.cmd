howlpoint isolate --help
