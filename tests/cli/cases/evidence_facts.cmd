# The file of facts comes out as it is built in.
howlpoint evidence --facts | diff - "$TESTS/../../profiles/shared/workshop-facts.toml" && echo same
