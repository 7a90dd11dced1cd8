"""What stands in the workshop for mixing and pouring."""

from dataclasses import dataclass
from enum import StrEnum

from firstpour.errors import BadRequest


class Pace(StrEnum):
    """How fast the maker works: the same step, other minutes and another spread."""

    PRACTISED = "practised"
    STEADY = "steady"
    UNHURRIED = "unhurried"


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchKit:
    """Scale, containers, vacuum (and the room under its chamber) and pressure, and the maker's pace."""

    scale_step_g: float = 0.1
    largest_container_ml: float = 5000.0
    vacuum: bool = True
    chamber_ml: float = 10_000.0
    pressure: bool = False
    pace: Pace = Pace.STEADY
    pace_ratio: float = 1.0
    """How much longer the maker was seen to take than that."""

    @property
    def largest_degassed_ml(self) -> float:
        """The largest container that fits under the chamber."""
        return min(self.largest_container_ml, self.chamber_ml)

    def __post_init__(self) -> None:
        if not 0 < self.chamber_ml <= 1e6:
            raise BadRequest(f"the vacuum chamber holds {self.chamber_ml:g} ml.", remedy="Give it above 0.")
        if not (0 < self.scale_step_g <= 1000 and 0 < self.largest_container_ml <= 1e6):
            raise BadRequest(
                f"the scale's step is {self.scale_step_g:g} g, the container holds {self.largest_container_ml:g} ml.",
                remedy="Give both as positive numbers.",
            )
