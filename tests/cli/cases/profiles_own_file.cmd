printf 'name = "mine"\ntitle = "My van"\ndescription = "Own"\n[[probe_point]]\nname = "pan"\ndescription = "rim"\n[[source]]\nkind = "steering pump vanes"\npulleys = { crank = 160, driven = 130 }\nmakes = [{ what = "vanes", count = 10 }]\nslip = 0\n' > mine.toml
howlpoint profiles ./mine.toml
