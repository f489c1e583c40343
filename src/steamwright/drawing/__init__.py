"""The drawing set."""
