"""The workshop's memory: one database for stock, jobs, plans, and what was done at the bench."""
