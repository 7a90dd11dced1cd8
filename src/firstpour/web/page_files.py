"""The page itself: built files with headers for the browser's cache, or a plain word on how to build them."""

from pathlib import Path

from fastapi import APIRouter
from fastapi.responses import FileResponse, HTMLResponse, Response

from firstpour.web.refusals import NotThere

FOR_EVER = "public, max-age=31536000, immutable"
"""Files below assets/ bear the digest of their content in their names."""
ASK_AGAIN = "no-cache"
TYPES = {
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
    ".json": "application/json",
    ".webmanifest": "application/manifest+json",
    ".woff2": "font/woff2",
    ".png": "image/png",
    ".ico": "image/x-icon",
    ".map": "application/json",
    ".txt": "text/plain; charset=utf-8",
}
NOT_BUILT = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Firstpour</title>
<meta name="viewport" content="width=device-width, initial-scale=1"></head>
<body><h1>The page is not built yet</h1>
<p>The server runs, but the page that it shows is missing. In the folder of the source run <code>make page</code>,
then reload. A package that was installed whole carries the page with it.</p></body></html>
"""


def page_files(static: Path) -> APIRouter:
    """The route of the built page's files; any other path shows the page, which knows its own ways."""
    pages = APIRouter(include_in_schema=False)
    home = static.resolve()

    @pages.get("/{path:path}")
    def page(path: str) -> Response:
        if path == "api" or path.startswith("api/"):
            raise NotThere("there is nothing at that address", remedy="see the published list of routes")
        wanted = _below(home, path)
        if wanted is not None:
            lasting = FOR_EVER if path.startswith("assets/") else ASK_AGAIN
            kind = TYPES.get(wanted.suffix, "application/octet-stream")
            return FileResponse(wanted, media_type=kind, headers={"Cache-Control": lasting})
        index = home / "index.html"
        if not index.is_file():
            return HTMLResponse(NOT_BUILT, status_code=503, headers={"Cache-Control": "no-store"})
        if path.startswith("assets/"):
            raise NotThere("the page has no such file", remedy="reload the page")
        return FileResponse(index, media_type=TYPES[".html"], headers={"Cache-Control": ASK_AGAIN})

    return pages


def _below(home: Path, path: str) -> Path | None:
    """The file at that path, where it lies in the folder."""
    try:
        wanted = (home / path).resolve()
        return wanted if home in wanted.parents and wanted.is_file() else None
    except (OSError, ValueError):
        return None
