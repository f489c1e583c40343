"""Framing, boards on it, and the screws that hold them."""
