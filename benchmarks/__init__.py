"""Side-by-side measurements: `python -m benchmarks [NAME …]`. See `rows` for what a module here provides."""
