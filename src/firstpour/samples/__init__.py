"""The sample parts, made by our own code."""
