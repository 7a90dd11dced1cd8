"""What was decided for each part of a job: which silicone, which casting material, and why."""

from collections.abc import Sequence
from dataclasses import dataclass

from firstpour.errors import BadRequest
from firstpour.materials.additives import Additive
from firstpour.materials.feel import Hardness
from firstpour.materials.material import Material


@dataclass(frozen=True, slots=True, kw_only=True)
class Rejected:
    """A material that will not do, why, and what would let it through where there is such a thing."""

    material_id: str
    reason: str
    remedy: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Picked:
    """A material decided on: what is stirred in, the hardness it reaches, what else would do."""

    material: Material
    additives: tuple[Additive, ...]
    reached: Hardness | None
    others: str
    """Why not the next best, as a sentence; empty where nothing else would do."""
    slower: tuple[Material, ...]
    """Others that would do and leave more time to pour, the least slow first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """One part's materials; None where nothing will do, with what speaks against each."""

    name: str
    wanted: Hardness
    silicone: Picked | None
    casting: Picked | None
    silicones_rejected: tuple[Rejected, ...]
    castings_rejected: tuple[Rejected, ...]

    @property
    def hardness(self) -> Hardness:
        """What the copies will be: the hardness reached, or the one wanted where nothing reaches it."""
        return self.wanted if self.casting is None or self.casting.reached is None else self.casting.reached


@dataclass(frozen=True, slots=True, kw_only=True)
class Decisions:
    """The materials of every part."""

    parts: Sequence[Decision]

    def of(self, name: str) -> Decision:
        """The decision on the part of that name.

        Raises
        ------
        BadRequest
            If nothing was decided for it.
        """
        for part in self.parts:
            if part.name == name:
                return part
        raise BadRequest(
            f"no materials were decided on for {name}.",
            remedy=f"Decide first; decided are: {', '.join(part.name for part in self.parts)}.",
        )
