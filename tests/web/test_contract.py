"""Whatever is asked within the published routes is answered within them: requests made up by schemathesis.

Only routes that answer at once: those that begin runs are tried in test_plan_routes.py.
"""

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis import checks

from firstpour.web.app import openapi_of
from firstpour.web.serving import Serving
from web_server import made, served

CHECKS = [
    checks.not_a_server_error,
    checks.status_code_conformance,
    checks.content_type_conformance,
    checks.response_schema_conformance,
]
BEGINS = r"/(plan|routes|schedule|progress|demo)$"
schema = schemathesis.openapi.from_dict(openapi_of()).exclude(path_regex=BEGINS)


@pytest.fixture(scope="module")
def asked(tmp_path_factory: pytest.TempPathFactory, built: Path) -> Iterator[tuple[httpx.Client, str]]:
    """A server with one job, and the job's id."""
    home = tmp_path_factory.mktemp("contract")
    (home / "shelf").mkdir()
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FIRSTPOUR_SHELF", str(home / "shelf"))
        patch.setenv("FIRSTPOUR_WORKSHOP", str(home / "workshop.toml"))
        with served(Serving(jobs=home / "jobs", static=built)) as client:
            yield client, made(client)["id"]


@schema.parametrize()
@settings(max_examples=4, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
def test_every_answer_is_one_that_is_published(case: schemathesis.Case, asked: tuple[httpx.Client, str]) -> None:
    client, job = asked
    if "job_id" in case.path_parameters and case.method != "DELETE":
        case.path_parameters["job_id"] = job
    if "part" in case.path_parameters:
        case.path_parameters["part"] = "peg"
    case.call_and_validate(base_url=str(client.base_url).rstrip("/"), checks=CHECKS)
