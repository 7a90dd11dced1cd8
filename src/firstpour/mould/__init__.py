"""The mould: draw direction, undercuts, parting surface, pieces."""
