"""How the mould opens: draw direction, undercuts, seam, parting surface, halves."""
