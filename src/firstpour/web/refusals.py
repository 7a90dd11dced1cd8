"""What a route refuses, always told in one shape: code, problem, remedy."""

from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import Field
from starlette.exceptions import HTTPException

from firstpour.errors import WorkshopError
from firstpour.files.entry import Entry


class ErrorEntry(Entry):
    """What went wrong and the next thing to do."""

    code: str = Field(description="A short name that stays the same.")
    problem: str
    remedy: str


def error_entry(error: WorkshopError) -> ErrorEntry:
    """The entry of an error."""
    return ErrorEntry(code=error.code, problem=error.problem, remedy=error.remedy)


class NotThere(WorkshopError):
    """No such job, part, piece or file; or it was not worked out yet."""

    code = "not-there"


class Busy(WorkshopError):
    """Something else is being done with the job."""

    code = "busy"


class TooLarge(WorkshopError):
    """More was sent than is taken."""

    code = "too-large"


class NotPaired(WorkshopError):
    """The device was not let in."""

    code = "not-paired"


class FromElsewhere(WorkshopError):
    """The request was made by another site, or under a name that is not this server's."""

    code = "from-elsewhere"


class TooManyTries(WorkshopError):
    """The pairing code was guessed at too often."""

    code = "too-many-tries"


STATUS: dict[type[WorkshopError], int] = {
    NotPaired: 401,
    FromElsewhere: 403,
    NotThere: 404,
    Busy: 409,
    TooLarge: 413,
    TooManyTries: 429,
}
UNUSABLE = 422
WORDS = {
    404: ("not-there", "there is nothing at that address", "go back to the start page"),
    405: ("not-so", "that address does not take such a request", "see the published list of routes"),
    413: ("too-large", "more was sent than is taken at once", "send smaller part files, or fewer at a time"),
    400: ("unreadable", "the request cannot be read", "send it again as the published list of routes says"),
}
Answers = dict[int | str, dict[str, Any]]
REFUSED: Answers = {
    "4XX": {"model": ErrorEntry, "description": "Refused: the problem and the remedy."},
    "5XX": {"model": ErrorEntry, "description": "It failed here."},
}
"""What every route may answer besides."""


def status_of(error: WorkshopError) -> int:
    """The status that goes with an error."""
    return next((status for kind, status in STATUS.items() if isinstance(error, kind)), UNUSABLE)


def told(status: int, code: str, problem: str, remedy: str) -> JSONResponse:
    """An answer in the one shape."""
    entry = ErrorEntry(code=code, problem=problem, remedy=remedy)
    return JSONResponse(entry.model_dump(), status_code=status, headers={"Cache-Control": "no-store"})


def answer_to(error: WorkshopError) -> JSONResponse:
    """The answer that tells of the error."""
    return told(status_of(error), error.code, error.problem, error.remedy)


def tell_refusals(app: FastAPI) -> None:
    """Let every error of the app be told in the one shape."""

    @app.exception_handler(WorkshopError)
    def workshop(_: Request, error: WorkshopError) -> JSONResponse:
        return answer_to(error)

    @app.exception_handler(RequestValidationError)
    def mistyped(_: Request, error: RequestValidationError) -> JSONResponse:
        details = error.errors()[:8]
        problem = "; ".join(f"{_where(one['loc'])}: {_plain(str(one['msg']))}" for one in details)
        return told(UNUSABLE, "bad-request", problem, "give what the published list of routes asks for")

    @app.exception_handler(HTTPException)
    def of_http(_: Request, error: HTTPException) -> JSONResponse:
        code, problem, remedy = WORDS.get(error.status_code, ("refused", str(error.detail), "try it another way"))
        answer = told(error.status_code, code, problem, remedy)
        answer.headers.update(error.headers or {})
        return answer

    @app.exception_handler(Exception)
    def unforeseen(_: Request, error: Exception) -> JSONResponse:
        return told(
            500,
            "unforeseen",
            f"something went wrong here that nobody foresaw ({type(error).__name__})",
            "try again; the terminal of the server tells more",
        )


def _where(loc: tuple[str | int, ...]) -> str:
    return ", ".join(str(step) for step in loc if step != "body") or "the request"


def _plain(message: str) -> str:
    """What pydantic says, as a remedy-like phrase."""
    return message.removeprefix("Value error, ").replace("Input should be", "it must be")
