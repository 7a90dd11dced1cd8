"""What all tests share: no deadline a sample, since a first call compiles; nothing kept from one
test to the next, and nobody's own workshop."""

import os
from pathlib import Path

import pytest
from hypothesis import settings

from demo_plan import plan_demo
from firstpour.results import SavedPlan

settings.register_profile("firstpour", deadline=None)
settings.load_profile("firstpour")
os.environ["FIRSTPOUR_KEPT"] = ""


@pytest.fixture(scope="session", autouse=True)
def nobodys_own_workshop(tmp_path_factory: pytest.TempPathFactory) -> None:
    """No test reads or changes the shelf and the workshop file of whoever runs it."""
    empty: Path = tmp_path_factory.mktemp("nobodys-own")
    (empty / "shelf").mkdir()
    patch = pytest.MonkeyPatch()
    patch.setenv("FIRSTPOUR_SHELF", str(empty / "shelf"))
    patch.setenv("FIRSTPOUR_WORKSHOP", str(empty / "workshop.toml"))


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> SavedPlan:
    """The tide pool, planned once for all tests that read its plan."""
    return plan_demo(tmp_path_factory.mktemp("demo") / "tide-pool")
