howlpoint bearing --elements 8 --ball 6.75
