howlpoint new whine --profile blank-four-stroke --title "Nothing yet"
howlpoint report whine --out whine.pdf && pdftotext -raw -l 1 whine.pdf - | head -16
