"""What all tests share: no deadline a sample, since a first call compiles, and machines are shared."""

from hypothesis import settings

settings.register_profile("firstpour", deadline=None)
settings.load_profile("firstpour")
