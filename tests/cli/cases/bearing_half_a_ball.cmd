howlpoint bearing --elements 8.5 --ball 6.75 --pitch 28.5
