"""What a part's entry in the job says to fix one route."""

from dataclasses import dataclass

from firstpour.job.job import Making
from firstpour.routes.recipe import Recipe, Way


@dataclass(frozen=True, slots=True, kw_only=True)
class Fixed:
    """Keys of a part that fix a route; None: the key has no say in it. Printer and finish of a print stay open."""

    route: Making
    print_in: str | None = None
    kind: str | None = None
    silicone: str | None = None
    casting: str | None = None
    moulds: int | None = None
    cavities: int | None = None
    accelerator_ratio: float | None = None
    silicone_accelerator_ratio: float | None = None
    """None: as the part says."""


def fixing(recipe: Recipe) -> Fixed:
    """What fixes that route."""
    if recipe.way is Way.PRINTED:
        return Fixed(route=Making.PRINT, print_in=recipe.material_id)
    return Fixed(
        route=Making.CAST,
        kind=recipe.kind,
        silicone=recipe.silicone_id,
        casting=recipe.material_id,
        moulds=recipe.moulds,
        cavities=recipe.a_mould,
        accelerator_ratio=recipe.accelerator_ratio,
        silicone_accelerator_ratio=recipe.silicone_accelerator_ratio,
    )
