"""Round features of a part: bores, pins and bodies of revolution."""
