"""Standing at the bench: sessions step by step, clocks, weighing, outcomes, causes, and what was learned."""
