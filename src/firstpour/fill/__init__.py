"""The fill: trapped air, pour direction, gate, vents and flow."""
