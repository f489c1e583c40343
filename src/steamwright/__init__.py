"""Steamwright: from one measured steam room to a proven, orderable plan."""

__version__ = "0.1.0"
