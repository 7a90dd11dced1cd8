"""The materials as they behaved here: pot life and demould time by what was measured at the bench."""

from dataclasses import replace

from firstpour.materials.catalogue import Catalogue
from firstpour.materials.figures import Figure, FigureName, Origin
from firstpour.materials.material import Material
from firstpour.store.learned import POUR, Factor, Learned
from firstpour.workshop.equipment import Equipment

OFTEN = 3
"""From so many measurements on a figure counts as measured here: our own choice (decision 0072)."""


def as_measured(catalogue: Catalogue, learned: Learned) -> Catalogue:
    """The catalogue with pot lives and demould times drawn to what was measured here."""
    if not learned.pot_lives and not learned.demoulds:
        return catalogue
    return Catalogue(materials={key: _material(one, learned) for key, one in catalogue.materials.items()})


def as_seen(equipment: Equipment, learned: Learned) -> Equipment:
    """The workshop with the minutes of its printers, and of the maker at a pour, as they were seen here."""
    pace = learned.paces.get(POUR, Factor())
    return replace(
        equipment,
        printers=tuple(
            replace(one, minutes_factor=learned.prints.get(one.process.value, Factor()).ratio)
            for one in equipment.printers
        ),
        pace_ratio=pace.ratio,
    )


def _material(one: Material, learned: Learned) -> Material:
    found = {
        FigureName.POT_LIFE: learned.pot_lives.get(one.id),
        FigureName.DEMOULD: learned.demoulds.get(one.id),
    }
    figures = dict(one.figures)
    for name, factor in found.items():
        if factor is not None and factor.times and name in figures:
            figures[name] = _figure(figures[name], factor)
    return one if figures == dict(one.figures) else replace(one, figures=figures)


def _figure(one: Figure, factor: Factor) -> Figure:
    often = factor.times >= OFTEN
    return replace(
        one,
        value=one.value * factor.ratio,
        low=None if one.low is None or often else one.low * factor.ratio,
        high=None if one.high is None or often else one.high * factor.ratio,
        origin=Origin.MEASURED if often else one.origin,
    )
