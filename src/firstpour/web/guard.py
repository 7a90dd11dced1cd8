"""Who may ask at all: the right name, the right site, a device that was let in; and what every answer carries."""

import ipaddress
from collections.abc import Mapping

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from firstpour.web.pairing import COOKIE, Pairing
from firstpour.web.refusals import FromElsewhere, NotPaired, answer_to

CONTENT_SECURITY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self' 'unsafe-inline'",
        "img-src 'self' data: blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "worker-src 'self' blob:",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
ALWAYS: Mapping[str, str] = {
    "Content-Security-Policy": CONTENT_SECURITY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
SAFE_METHODS = frozenset({"GET", "HEAD"})
OPEN_TO_ALL = frozenset({"/api/about"})
"""What a device may ask before it is let in, besides the page itself, which holds nothing of the maker's."""
LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "::1"})


class Guard:
    """Stands before the app. With `pairing` other devices may be let in; without, only this machine may ask."""

    def __init__(self, app: ASGIApp, *, pairing: Pairing | None, trusted: frozenset[str] = frozenset()) -> None:
        self._app, self._pairing = app, pairing
        self._names = LOOPBACK_NAMES | trusted

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse, or pass on with what every answer carries."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in ALWAYS.items():
                    headers.setdefault(name, value)
                if scope["path"].startswith("/api/"):
                    headers.setdefault("Cache-Control", "no-store")
            await send(message)

        scope.setdefault("state", {})
        headers = Headers(scope=scope)
        here = _is_loopback(scope, headers)
        scope["state"]["this_machine"] = here
        scope["state"]["paired"] = here or self._is_paired(headers)
        refused = self._refused(scope, headers)
        if refused is not None:
            await answer_to(refused)(scope, receive, send_with_headers)
            return
        await self._app(scope, receive, send_with_headers)

    def _refused(self, scope: Scope, headers: Headers) -> FromElsewhere | NotPaired | None:
        if not self._is_our_name(headers.get("host", "")):
            return FromElsewhere("the address names another server", remedy="use the address that the terminal shows")
        of_api = scope["path"].startswith("/api/")
        if (of_api or scope["method"] not in SAFE_METHODS) and _from_another_site(headers):
            return FromElsewhere("another site asked for it", remedy="open the page itself and do it there")
        if of_api and not scope["state"]["paired"] and scope["path"] not in OPEN_TO_ALL:
            return NotPaired(
                "this device was not let in", remedy="open /pair and type the code that the terminal shows"
            )
        return None

    def _is_our_name(self, host: str) -> bool:
        """A name of this machine; where devices are let in, also any bare address, which no rebinding can forge."""
        name = host_name(host)
        return name in self._names or (self._pairing is not None and _is_address(name))

    def _is_paired(self, headers: Headers) -> bool:
        if self._pairing is None:
            return False
        return self._pairing.knows(cookie_parser(headers.get("cookie", "")).get(COOKIE))


def host_name(host: str) -> str:
    """The name in a Host header, without its port.

    >>> host_name("localhost:80"), host_name("[::1]:80"), host_name("[::1]")
    ('localhost', '::1', '::1')
    """
    if host.startswith("["):
        return host[1:].partition("]")[0].lower()
    return host.rpartition(":")[0].lower() if ":" in host else host.lower()


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def _is_loopback(scope: Scope, headers: Headers) -> bool:
    """Asked on this machine, under a name of this machine."""
    client = scope.get("client")
    if client is None or host_name(headers.get("host", "")) not in LOOPBACK_NAMES:
        return False
    try:
        return ipaddress.ip_address(client[0]).is_loopback
    except ValueError:
        return False


def _from_another_site(headers: Headers) -> bool:
    """What a browser says of where a request comes from; programs other than browsers say nothing."""
    if headers.get("sec-fetch-site", "none") not in ("same-origin", "none"):
        return True
    origin = headers.get("origin")
    return origin is not None and origin.partition("://")[2].lower() != headers.get("host", "").lower()
