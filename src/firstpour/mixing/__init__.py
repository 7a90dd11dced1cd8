"""Mixing: what to weigh, how long it can be poured."""
