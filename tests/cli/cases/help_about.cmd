howlpoint about --help
