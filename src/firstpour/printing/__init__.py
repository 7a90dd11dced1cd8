"""How a piece is printed: which way up, in which layers, how round, with how much pull and work."""
