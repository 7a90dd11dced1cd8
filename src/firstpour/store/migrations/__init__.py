"""How a store of an older version becomes one of this version."""
