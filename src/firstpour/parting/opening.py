"""Whether two halves come apart at all: each in one body, and none a closed ring around the part.

Proved on the exact halves before any channel is cut: a half that is a ball drawn out of shape has no handle, so
nothing of the part runs through it. A bar that does is held until its ring of silicone is cut (decision 0023).
"""

from dataclasses import dataclass

import manifold3d

from firstpour.parting.halves import Halves
from firstpour.surface.solids import without_crumbs

CRUMB_MM3 = 1.0
"""What is smaller comes off by itself and is dropped with the pieces."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shut:
    """What keeps two halves from coming apart: lumps beside the halves, rings around the part, or `why` in words."""

    loose: int = 0
    rings: int = 0
    why: str = ""

    def __bool__(self) -> bool:
        return self.loose > 0 or self.rings > 0 or bool(self.why)

    @property
    def words(self) -> str:
        """In words, for a finding."""
        rings = {0: "", 1: "a ring of silicone closes around the part"}.get(
            self.rings, f"{self.rings} rings of silicone close around the part"
        )
        loose = {0: "", 1: "a lump of silicone hangs on neither half"}.get(
            self.loose, f"{self.loose} lumps of silicone hang on neither half"
        )
        return " and ".join(words for words in (rings, loose, self.why) if words)


COMES_APART = Shut()


def what_shuts(halves: Halves) -> Shut:
    """Count what keeps the halves from coming apart; empty where nothing does."""
    sides = [_surfaces(half) for half in (halves.upper, halves.lower)]
    return Shut(
        loose=sum(max(0, sum(surface.volume() > 0.0 for surface in surfaces) - 1) for surfaces in sides),
        rings=sum(max(0, surface.genus()) for surfaces in sides for surface in surfaces),
    )


def _surfaces(half: manifold3d.Manifold) -> list[manifold3d.Manifold]:
    """The closed surfaces of a half without crumbs and films: its bodies, and voids in them, of negative volume."""
    surfaces = without_crumbs(half, least_mm3=CRUMB_MM3).decompose()
    return [surface for surface in surfaces if abs(surface.volume()) >= CRUMB_MM3]
