"""Materials, layers and framing: the stack on every facet, and the faces it makes."""
