"""The page's server: every route calls the same use cases as the commands."""
