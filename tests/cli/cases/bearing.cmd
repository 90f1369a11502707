howlpoint bearing --elements 9 --ball 7.9375 --pitch 38.50 --rpm 1800
