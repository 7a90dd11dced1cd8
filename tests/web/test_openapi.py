"""The published routes are those of the server."""

import json
from pathlib import Path

from firstpour.web.app import openapi_text

PUBLISHED = Path(__file__).parents[2] / "docs" / "openapi.json"


def test_the_published_routes_are_those_of_the_server() -> None:
    assert PUBLISHED.read_text(encoding="utf-8") == openapi_text(), "run: python tools/publish.py"


def test_every_route_has_a_name_of_its_own_and_tells_its_refusals() -> None:
    paths = json.loads(openapi_text())["paths"]
    routes = [route for path in paths.values() for route in path.values()]
    names = [route["operationId"] for route in routes]
    assert len(set(names)) == len(names)
    for route in routes:
        refused = route["responses"]["4XX"]["content"]["application/json"]["schema"]["$ref"]
        assert refused.endswith("/ErrorEntry")
        assert route["summary"]
        assert route["description"]
