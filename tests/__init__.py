"""All tests, and what they share."""
