"""The demo job."""
