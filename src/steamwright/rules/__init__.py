"""Standards as data by edition and clause, and the engine that judges facts."""
