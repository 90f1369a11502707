howlpoint new whine --profile inline-seven
