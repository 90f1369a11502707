howlpoint about nothing
