printf 'name = "mine"\ntitle = "My van"\ndescription = "Own"\n[[probe_point]]\nname = "pan"\ndescription = "rim"\n[[source]]\nkind = "steering pump"\n' > mine.toml
howlpoint profiles ./mine.toml
