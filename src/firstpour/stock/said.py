"""A new pack as makers say it."""

from datetime import date

from firstpour.errors import BadRequest
from firstpour.materials.amounts import grams_said
from firstpour.materials.material import Material
from firstpour.stock.stock import Pack


def pack_said(
    material: Material,
    *,
    size: str,
    left: str | None,
    price: float | None,
    bought_on: date | None,
    opened_on: date | None,
    today: date,
) -> Pack:
    """A pack not yet on the shelf (its id is 0): full where nothing is said of what is `left`, else bought `today`.

    Raises
    ------
    BadRequest
        If an amount cannot be meant, or the pack was opened before it was bought.
    """
    full = grams_said(size, material)
    held = full if left is None else grams_said(left, material)
    if bought_on is not None and opened_on is not None and opened_on < bought_on:
        raise BadRequest(
            f"opened on {opened_on}, before it was bought on {bought_on}", remedy="correct one of the two days"
        )
    return Pack(
        id=0,
        material_id=material.id,
        size_a_g=full.a_g,
        left_a_g=held.a_g,
        size_b_g=full.b_g,
        left_b_g=held.b_g,
        price=price,
        bought_on=bought_on or today,
        opened_on=opened_on,
    )
