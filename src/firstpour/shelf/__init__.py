"""The shelf: materials, stock, mixing, the clock, what goes with what."""
