"""Commands on the part alone."""
