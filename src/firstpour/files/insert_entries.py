"""Inserts in plan.json: what is set into every cavity, and what holds it."""

from collections.abc import Sequence

from pydantic import Field

from firstpour.files.entry import Entry, Vector
from firstpour.inserts.placing import HeldInsert
from firstpour.inserts.told import held_words
from firstpour.inserts.values import Hold, InsertShape


class InsertEntry(Entry):
    """One insert of every cavity."""

    name: str = Field(description="It in words, with its sizes.")
    shape: InsertShape
    at_mm: Vector = Field(description="Its middle; where the file's origin lies, for a mesh.")
    along: Vector
    hold: Hold
    halves: list[str] = Field(description="The halves that hold it; none where a core of silicone does.")
    held: str = Field(description="How it is held, in words.")
    cut_mm: float | None = Field(description="Length to cut a rod to; null for what comes as it is.")
    stand_off_mm: float | None = Field(description="How far pegs hold it off the face of the mould; null without.")
    hole_mm: float | None = Field(description="The hole that the copy has of it; null for none.")
    tolerance_mm: float | None = Field(description="How far that hole may be off; null for none.")
    pulled: bool = Field(description="It is greased, and pulled out of the copy.")


def insert_entries(inserts: Sequence[HeldInsert]) -> list[InsertEntry]:
    """The inserts as they are held."""
    return [_entry(one) for one in inserts]


def _entry(held: HeldInsert) -> InsertEntry:
    one = held.insert
    return InsertEntry(
        name=one.words,
        shape=one.shape,
        at_mm=one.at_mm,
        along=one.along,
        hold=held.hold,
        halves=["upper" if side > 0 else "lower" for side in held.sides],
        held=held_words(held),
        cut_mm=held.length_mm if one.pulled else None,
        stand_off_mm=held.stand_off_mm if held.hold is Hold.PEGS else None,
        hole_mm=one.hole_mm or None,
        tolerance_mm=one.tolerance_mm if one.hole_mm else None,
        pulled=one.pulled,
    )
