"""One job in, one plan out."""
