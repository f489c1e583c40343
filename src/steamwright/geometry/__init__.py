"""Flat things in the room."""
