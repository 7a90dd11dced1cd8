"""What is read and written: job.toml, plan.json, pieces."""
