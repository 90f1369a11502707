mkdir locked
chmod 555 locked
howlpoint new locked/whine --profile blank-four-stroke
