"""Surfaces and solids: dexels, edges, sides of a closed mesh, exact solids."""
