"""The sheets of the set."""
