"""Different parts in one mould in plan.json: how many of each a shot gives, and where they lie."""

from pydantic import Field

from firstpour.files.entry import Entry, Way


class MemberEntry(Entry):
    """One of the different parts that lie together in a mould."""

    name: str
    source: str | None = Field(description="The file it was read from; null for a sample part.")
    copies: int = Field(description="How many are wanted.")
    a_shot: int = Field(description="How many one shot gives.")
    volume_mm3: float = Field(description="Of one.")
    in_mould: list[Way] = Field(
        description="For each cavity the turn and shift that bring the file's points there, in the set's coordinates."
    )
