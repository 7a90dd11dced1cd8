"""How another device is let in: a code that works once, then a session that only that device can show."""

import hashlib
import hmac
import json
import os
import secrets
from collections.abc import Callable
from pathlib import Path

from firstpour.errors import BadRequest
from firstpour.web.refusals import TooManyTries
from firstpour.writing.whole import Over, write_whole

LETTERS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Without those that look alike on a screen."""
CODE_LETTERS = 8
CODE_LASTS_S = 15 * 60.0
SESSION_LASTS_S = 14 * 24 * 3600.0
TRIES, TRIES_WITHIN_S = 5, 60.0
"""So many wrong codes within so long from all devices together; then nobody is let in for as long."""
MOST_SESSIONS = 50
COOKIE = "firstpour-session"


class Pairing:
    """The code of the moment, and who was let in. Sessions are kept by their digest, so that a restart of the server
    shuts nobody out in the middle of a pour."""

    def __init__(self, kept: Path, *, clock: Callable[[], float], tell: Callable[[str], None]) -> None:
        self._kept, self._clock, self._tell = kept, clock, tell
        self._sessions = _read(kept)
        self._wrong_at: list[float] = []
        self._code, self._made_at = "", 0.0

    def new_code(self) -> str:
        """A code that works once; the one before works no more."""
        self._code = "".join(secrets.choice(LETTERS) for _ in range(CODE_LETTERS))
        self._made_at = self._clock()
        self._tell(self._code)
        return self._code

    def let_in(self, code: str) -> str:
        """The session of a device that shows the code.

        Raises
        ------
        TooManyTries
            If too many wrong codes came lately.
        BadRequest
            If it is not the code, or the code is too old; a new one is then shown in the terminal.
        """
        now = self._clock()
        self._wrong_at = [at for at in self._wrong_at if now - at < TRIES_WITHIN_S]
        if len(self._wrong_at) >= TRIES:
            raise TooManyTries("too many wrong codes came in", remedy="wait a minute, then type the code shown")
        typed = "".join(one for one in code.upper() if one.isalnum())
        if self._code and now - self._made_at > CODE_LASTS_S:
            self.new_code()
        if not self._code or not hmac.compare_digest(typed.encode(), self._code.encode()):
            self._wrong_at.append(now)
            if len(self._wrong_at) >= TRIES:
                self.new_code()
            raise BadRequest("that is not the code of the moment", remedy="type the one that the terminal shows now")
        self.new_code()
        return self._new_session(now)

    def knows(self, session: str | None) -> bool:
        """Whether the session is one of a device that was let in."""
        until = None if not session else self._sessions.get(_digest(session))
        return until is not None and self._clock() < until

    def _new_session(self, now: float) -> str:
        session = secrets.token_urlsafe(32)
        self._sessions = {key: until for key, until in self._sessions.items() if now < until}
        while len(self._sessions) >= MOST_SESSIONS:
            del self._sessions[min(self._sessions, key=lambda key: self._sessions[key])]
        self._sessions[_digest(session)] = now + SESSION_LASTS_S
        write_whole(self._kept, json.dumps(self._sessions).encode(), over=Over.ANYTHING)
        os.chmod(self._kept, 0o600)
        return session


def _digest(session: str) -> str:
    return hashlib.sha256(session.encode()).hexdigest()


def _read(kept: Path) -> dict[str, float]:
    try:
        read = json.loads(kept.read_text(encoding="utf-8"))
        return {str(key): float(until) for key, until in read.items()}
    except (OSError, ValueError, AttributeError, TypeError):
        return {}
