howlpoint profiles transverse-four-automatic
