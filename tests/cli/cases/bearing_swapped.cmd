howlpoint bearing --elements 8 --ball 28.5 --pitch 6.75
