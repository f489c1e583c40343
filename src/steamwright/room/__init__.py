"""The measured room."""
