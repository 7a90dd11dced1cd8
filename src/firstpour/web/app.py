"""The server put together: routes, refusals, the guard before them, the workers behind them."""

import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.routing import APIRoute

from firstpour import __version__
from firstpour.web import (
    about_routes,
    bench_routes,
    bench_seen_routes,
    clock_routes,
    geometry_routes,
    job_routes,
    plan_routes,
    shelf_routes,
)
from firstpour.web.guard import Guard
from firstpour.web.page_files import page_files
from firstpour.web.parts_read import PartsRead
from firstpour.web.refusals import REFUSED, tell_refusals
from firstpour.web.runs import Runs
from firstpour.web.serving import Serving
from firstpour.web.uploads import LARGEST_UPLOAD_BYTES

OVERHEAD_BYTES = 1 << 20
"""What a form takes besides its files."""
REFUSAL = {"application/json": {"schema": {"$ref": "#/components/schemas/ErrorEntry"}}}
"""A refusal is JSON, whatever the route answers else."""
ROUTES = (
    about_routes.api,
    job_routes.api,
    plan_routes.api,
    clock_routes.api,
    geometry_routes.api,
    shelf_routes.api,
    bench_routes.api,
    bench_seen_routes.api,
)


def make_app(serving: Serving) -> FastAPI:
    """The app that serves the page and its routes."""

    @asynccontextmanager
    async def working(app: FastAPI) -> AsyncIterator[None]:
        runs = Runs(
            workers=serving.workers, processes=serving.processes, shelf=serving.shelf, workshop=serving.workshop
        )
        app.state.runs = runs
        try:
            yield
        finally:
            await runs.close()

    app = FastAPI(
        title="Firstpour",
        version=__version__,
        description="From a part on the screen to good copies on the table: the routes of the page.",
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        lifespan=working,
        max_body_size=LARGEST_UPLOAD_BYTES + OVERHEAD_BYTES,
        generate_unique_id_function=_own_name,
    )
    app.state.serving = serving
    app.state.parts = PartsRead()
    tell_refusals(app)
    for router in ROUTES:
        app.include_router(router)
    app.include_router(about_routes.pair)
    app.include_router(page_files(serving.static))
    app.add_middleware(Guard, pairing=serving.pairing, trusted=serving.names)
    return app


def openapi_of() -> dict[str, Any]:
    """The routes as OpenAPI; a refusal has the one shape, whatever the route answers else."""
    told = make_app(Serving(jobs=Path("jobs"))).openapi()
    for path in told["paths"].values():
        for route in path.values():
            for status in REFUSED:
                route["responses"][status]["content"] = REFUSAL
    return told


def openapi_text() -> str:
    """The same as text, as published in docs/openapi.json."""
    return json.dumps(openapi_of(), indent=2) + "\n"


def _own_name(route: APIRoute) -> str:
    """The function's name: none is used twice."""
    return route.name
