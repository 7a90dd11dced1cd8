"""Files mutated by their structure, read by every reader: what is not read must be refused in words."""
