"""Compiled loops: arrays in, arrays out, no checks. Their callers check."""
