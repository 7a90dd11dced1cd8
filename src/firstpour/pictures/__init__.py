"""Shaded views from dexels, and charts."""
