howlpoint profiles blank-four-stroke
