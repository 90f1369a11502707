howlpoint new whine --profile blank-four-stroke
mkdir -p ~/.config/howlpoint
printf '[[fact]]\nkey = "seats"\nquestion = "Colour of the seats"\nhow = "Look."\nminutes = 1\nvalues = ["red", "blue"]\nusually = { chances = { red = 0.5, blue = 0.4 }, basis = "counted" }\n' > ~/.config/howlpoint/workshop-facts.toml
howlpoint evidence whine
