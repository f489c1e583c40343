"""Blanks cut from stock."""
