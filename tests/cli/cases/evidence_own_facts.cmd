# A shop's own file takes the place of the built-in one; what it does not know is kept.
howlpoint new whine --profile blank-four-stroke
howlpoint evidence whine leak=none
mkdir -p ~/.config/howlpoint
printf '[[fact]]\nkey = "seats"\nquestion = "Colour of the seats"\nhow = "Look."\nminutes = 1\nvalues = ["red", "blue"]\nusually = { chances = { red = 0.5, blue = 0.5 }, basis = "counted" }\n[[fact.if]]\ncauses = ["transmission fluid low"]\nchances = { red = 0.9, blue = 0.1 }\nbasis = "counted"\n' > ~/.config/howlpoint/workshop-facts.toml
howlpoint evidence whine
