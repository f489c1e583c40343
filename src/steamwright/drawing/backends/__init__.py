"""Where drawings are written to."""
