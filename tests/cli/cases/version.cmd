howlpoint --version
