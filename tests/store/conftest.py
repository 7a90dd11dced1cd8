"""A server for the tests of the store."""

from postgres_server import server  # noqa: F401  (a fixture)
