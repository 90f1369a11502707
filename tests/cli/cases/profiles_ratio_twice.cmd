printf 'name = "mine"\ntitle = "My van"\ndescription = "Own"\n[[probe_point]]\nname = "pan"\ndescription = "rim"\n[[source]]\nkind = "steering pump vanes"\nratio = 1.2\npulleys = { crank = 160, driven = 130 }\n' > mine.toml
howlpoint new case --profile ./mine.toml
