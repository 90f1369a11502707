howlpoint bearing --elements 8 --ball 6.75 --pitch 28.5 --pulleys 160:55
