"""A code lets one device in, once; guessing does not."""

import stat
from pathlib import Path

import pytest

from firstpour.errors import BadRequest
from firstpour.web.pairing import CODE_LASTS_S, SESSION_LASTS_S, TRIES, TRIES_WITHIN_S, Pairing
from firstpour.web.refusals import TooManyTries


class Desk:
    """A pairing with a clock that is moved by hand, and the codes that it showed."""

    def __init__(self, kept: Path) -> None:
        self.now_s, self.kept = 1000.0, kept
        self.codes: list[str] = []
        self.pairing = self.restarted()

    def restarted(self) -> Pairing:
        return Pairing(self.kept, clock=lambda: self.now_s, tell=self.codes.append)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    one = Desk(tmp_path / "sessions.json")
    one.pairing.new_code()
    return one


def test_a_code_works_once(desk: Desk) -> None:
    code = desk.codes[-1]
    session = desk.pairing.let_in(code)
    assert desk.pairing.knows(session)
    assert desk.codes[-1] != code
    with pytest.raises(BadRequest):
        desk.pairing.let_in(code)


def test_a_code_may_be_typed_in_small_letters_and_with_a_gap(desk: Desk) -> None:
    code = desk.codes[-1].lower()
    assert desk.pairing.knows(desk.pairing.let_in(f"{code[:4]} {code[4:]}"))


def test_no_code_at_all_lets_nobody_in(tmp_path: Path) -> None:
    with pytest.raises(BadRequest):
        Desk(tmp_path / "sessions.json").pairing.let_in("")


def test_an_old_code_is_shown_anew_and_not_taken(desk: Desk) -> None:
    code = desk.codes[-1]
    desk.now_s += CODE_LASTS_S + 1
    with pytest.raises(BadRequest):
        desk.pairing.let_in(code)
    assert desk.pairing.knows(desk.pairing.let_in(desk.codes[-1]))


def test_guessing_shuts_the_door_and_changes_the_code(desk: Desk) -> None:
    code = desk.codes[-1]
    for _ in range(TRIES):
        with pytest.raises(BadRequest):
            desk.pairing.let_in("WRONGONE")
    for right in (code, desk.codes[-1]):
        with pytest.raises(TooManyTries):
            desk.pairing.let_in(right)
    desk.now_s += TRIES_WITHIN_S + 1
    with pytest.raises(BadRequest):
        desk.pairing.let_in(code)
    assert desk.pairing.knows(desk.pairing.let_in(desk.codes[-1]))


def test_a_restart_shuts_nobody_out_until_the_session_ends(desk: Desk) -> None:
    session = desk.pairing.let_in(desk.codes[-1])
    again = desk.restarted()
    assert again.knows(session)
    desk.now_s += SESSION_LASTS_S + 1
    assert not again.knows(session)


def test_the_file_of_sessions_lets_nobody_in_and_is_read_by_nobody_else(desk: Desk) -> None:
    session = desk.pairing.let_in(desk.codes[-1])
    text = desk.kept.read_text(encoding="utf-8")
    assert session not in text
    assert not any(desk.pairing.knows(word) for word in text.split('"'))
    assert stat.S_IMODE(desk.kept.stat().st_mode) == 0o600


@pytest.mark.parametrize("text", ["", "no json", "[1, 2]", '{"a": "b"}'])
def test_a_damaged_file_of_sessions_lets_nobody_in(tmp_path: Path, text: str) -> None:
    kept = tmp_path / "sessions.json"
    kept.write_text(text, encoding="utf-8")
    assert not Desk(kept).pairing.knows("a")
