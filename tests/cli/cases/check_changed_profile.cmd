# A case's own profile is part of it.
howlpoint new whine --profile blank-four-stroke
echo "# changed" >> whine/profile.toml
howlpoint check whine
