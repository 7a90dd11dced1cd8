"""The job: what is to be made, as values; where they come from is the business of others."""
