"""Routes on the server itself: what it is, and letting another device in."""

from html import escape
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from firstpour import __version__
from firstpour.errors import WorkshopError
from firstpour.part.read import PART_KINDS
from firstpour.web.entries import AboutEntry
from firstpour.web.pairing import COOKIE, SESSION_LASTS_S, Pairing
from firstpour.web.refusals import REFUSED, NotThere, status_of
from firstpour.web.serving import Served, Serving
from firstpour.web.uploads import LARGEST_UPLOAD_BYTES

api = APIRouter(prefix="/api", responses=REFUSED, tags=["about"])
pair = APIRouter(include_in_schema=False)
FIELD = (
    '<input name="code" value="{code}" autocomplete="one-time-code" autocapitalize="characters" '
    'spellcheck="false" maxlength="20" required>'
)
PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Firstpour: let this device in</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<style>
:root {{ color-scheme: light dark; font: 1.15rem/1.5 system-ui, sans-serif; }}
main {{ max-width: 26rem; margin: 12vh auto 0; padding: 0 1rem; }}
input, button {{ box-sizing: border-box; width: 100%; font: inherit; padding: .8rem; margin-top: .8rem; }}
</style></head>
<body><main><h1>Let this device in</h1>
<form method="post" action="/pair"><label>Code shown in the terminal{field}</label>
<button>Let it in</button></form><p role="status">{words}</p></main></body></html>
"""


@api.get("/about")
def about(request: Request, serving: Served) -> AboutEntry:
    """What this server is, and whether this device may use it."""
    paired = bool(request.state.paired)
    return AboutEntry(
        version=__version__,
        jobs=len(serving.folders.all()) if paired else 0,
        paired=paired,
        this_machine=bool(request.state.this_machine),
        lan=serving.pairing is not None,
        now=serving.clock(),
        part_kinds=list(PART_KINDS),
        largest_upload_bytes=LARGEST_UPLOAD_BYTES,
    )


@pair.get("/pair")
def ask_for_code(serving: Served, code: str = "") -> Response:
    """The page that asks for the code; the QR code of the terminal leads here with it filled in."""
    _refuse_without_lan(serving)
    return _page(code, "")


@pair.post("/pair")
def let_in(serving: Served, code: Annotated[str, Form(max_length=200)] = "") -> Response:
    """Let the device in that shows the code of the moment."""
    pairing = _refuse_without_lan(serving)
    try:
        session = pairing.let_in(code)
    except WorkshopError as error:
        return _page("", f"{error.problem}: {error.remedy}.", status=status_of(error))
    answer = RedirectResponse("/", status_code=303)
    answer.set_cookie(COOKIE, session, max_age=int(SESSION_LASTS_S), httponly=True, samesite="strict", path="/")
    return answer


def _refuse_without_lan(serving: Serving) -> Pairing:
    if serving.pairing is None:
        raise NotThere("other devices are not let in", remedy="start the server so that they may be")
    return serving.pairing


def _page(code: str, words: str, *, status: int = 200) -> Response:
    field = FIELD.format(code=escape(code[:20], quote=True))
    page = PAGE.format(field=field, words=escape(words[:1].upper() + words[1:]))
    return HTMLResponse(page, status_code=status, headers={"Cache-Control": "no-store"})
