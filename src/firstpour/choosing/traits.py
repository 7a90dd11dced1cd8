"""The traits of a part's work: what cautions and the choice of gloves, masks and tools look for."""

from collections.abc import Iterable

from firstpour.choosing.choice import Chosen
from firstpour.choosing.need import PartNeed
from firstpour.inserts.values import InsertShape
from firstpour.materials.figures import FigureName
from firstpour.materials.steps import ROOM_C
from firstpour.workshop.workshop import Workshop

OVEN, PRESSURE, VACUUM, MAGNET = "oven", "pressure", "vacuum", "magnet"
"""Traits of work in which something is warmed, put under pressure or under vacuum, or magnets are handled."""


def work_traits(need: PartNeed, chosen: Iterable[Chosen], workshop: Workshop) -> frozenset[str]:
    """Everything handled for a part: its surface, materials and additives, and what the steps use and do."""
    used = tuple(chosen)
    steps = [*need.master_steps, *(planned.step for one in used for planned in one.steps)]
    materials = [one.material for one in used]
    materials += [additive.material for one in used for additive in one.additives]
    materials += [workshop.catalogue.get(one.uses) for one in steps if one.uses is not None]
    traits = need.surface_traits.union(*(material.traits for material in materials))
    degassed = workshop.kit.vacuum and any(FigureName.DEGAS in one.material.figures for one in used)
    traits |= {OVEN} if any(one.at_c > ROOM_C for one in steps) else set()
    traits |= {VACUUM} if degassed else set()
    traits |= {MAGNET} if any(one.shape is InsertShape.MAGNET for one in need.inserts) else set()
    return traits | ({PRESSURE} if workshop.kit.pressure else set())
