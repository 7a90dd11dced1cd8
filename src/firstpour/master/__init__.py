"""The master: print direction, layer steps, roundness, suction, allowance."""
