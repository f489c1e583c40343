"""Boards, sheets, bands, corner pieces and collars on every facet, and the proof that they are lap-tight."""
