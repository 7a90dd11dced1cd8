"""Firstpour: from a part on the screen to good copies on the table."""

__version__ = "0.1.0"
