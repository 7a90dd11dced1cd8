"""What all tests share: no deadline a sample, since a first call compiles; nothing kept from one test to the next."""

import os

from hypothesis import settings

settings.register_profile("firstpour", deadline=None)
settings.load_profile("firstpour")
os.environ["FIRSTPOUR_KEPT"] = ""
