"""One module a physical topic; each formula with its source and its limits as code."""
