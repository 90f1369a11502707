howlpoint report nothing --out nothing.pdf
