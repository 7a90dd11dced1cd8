"""Every material that might do for a part, judged: what speaks against it, or how it would go."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from firstpour.choosing.decisions import Rejected
from firstpour.choosing.need import PartNeed
from firstpour.choosing.trial import Trial, casting_trial, silicone_trial
from firstpour.errors import WorkshopError
from firstpour.materials.additives import Additive
from firstpour.materials.catalogue import Catalogue
from firstpour.materials.compatibility import Contact, Verdict, judge
from firstpour.materials.feel import FeelWay, Hardness, hardness_of, points_above, ways_to_reach
from firstpour.materials.figures import FigureName
from firstpour.materials.material import CASTING_KINDS, SILICONES, Kind, Material, value_or
from firstpour.materials.tear import NICK_MM, tear_margin
from firstpour.workshop.workshop import Workshop

STRETCH_SAFETY = 3.0
"""A mould is stretched to a third of its elongation at break at most: an estimate of our own (decision 0004)."""
DEFAULT_ELONGATION = 3.0
LESS_STRETCH = "Give the mould a thicker wall, another draw direction or one more piece, or take less undercut."
LONGER_RATIO = 1.3
"""A pot life must be longer by this much to count as slower."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """A material that would do: how it was tried, and for a casting material the way to the feel."""

    trial: Trial
    way: FeelWay | None = None

    @property
    def material(self) -> Material:
        return self.trial.material

    @property
    def softened(self) -> bool:
        return self.way is not None and self.way.softener is not None

    @property
    def off_points(self) -> float:
        """How far from the wanted hardness, either way."""
        return 0.0 if self.way is None else abs(self.way.off_points)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """The options, best first, and what was turned down."""

    options: tuple[Option, ...]
    rejected: tuple[Rejected, ...]


def silicone_options(need: PartNeed, workshop: Workshop, *, casting: Trial | None) -> Judged:
    """Silicones for the mould, judged against the master's surface, the casting material, the undercut and the clock.

    Ranked: fits the pot life; enough on the shelf; in time where a date presses; room for a mishap in the pour; thin
    enough to lose its bubbles where there is no vacuum; ready soonest; cheapest to buy.
    """
    cast = None if casting is None else casting.material
    options, rejected = [], []
    for material in _candidates(workshop, SILICONES, need.silicone):
        tried = _against_silicone(need, material, cast) or _tried(
            material, partial(silicone_trial, need, workshop, material, casting=cast)
        )
        if isinstance(tried, Trial):
            options.append(Option(trial=tried))
        else:
            rejected.append(tried)
    spent_min = 0.0 if casting is None else casting.ready_min
    options.sort(key=lambda option: _rank(option, need, spent_min=spent_min))
    return Judged(options=tuple(options), rejected=_nearest_first(rejected))


def casting_options(need: PartNeed, workshop: Workshop, wanted: Hardness) -> Judged:
    """Casting materials that reach the wanted hardness, as they are or softened.

    Ranked: fits the pot life; enough on the shelf; in time where a date presses; room for a mishap in the pour;
    without softener; nearest to the feel; soonest; cheapest.
    """
    materials = _candidates(workshop, CASTING_KINDS, need.casting)
    softeners = workshop.catalogue.of_kinds([Kind.SOFTENER])
    ways = ways_to_reach(wanted, materials=materials, softeners=softeners)
    reached = {way.material.id for way in ways}
    other_feel = [
        Rejected(material_id=material.id, reason=f"{hardness_of(material)} is not the feel of {wanted}.")
        for material in sorted(materials, key=lambda one: _far_points(one, wanted))
        if material.id not in reached
    ]
    options, rejected = [], []
    for way in ways:
        tried = _against_casting(need, way.material) or _tried(way.material, partial(_way_tried, need, workshop, way))
        if isinstance(tried, Trial):
            options.append(Option(trial=tried, way=way))
        else:
            rejected.append(tried)
    options.sort(key=lambda option: _rank(option, need, spent_min=0.0))
    return Judged(options=tuple(options), rejected=(*_nearest_first(rejected), *other_feel))


def slower_than(option: Option, options: Sequence[Option]) -> tuple[Material, ...]:
    """Other materials that would do and leave more time to pour; the least slow first."""
    own_min = value_or(option.material, FigureName.POT_LIFE, 0.0)
    longer = {
        other.material.id: other.material
        for other in options
        if not other.softened and value_or(other.material, FigureName.POT_LIFE, 0.0) > LONGER_RATIO * own_min
    }
    return tuple(sorted(longer.values(), key=lambda m: (value_or(m, FigureName.POT_LIFE, 0.0), m.id)))


def slower_like(material: Material, catalogue: Catalogue) -> tuple[Material, ...]:
    """Materials of the same kind and about the same hardness that leave more time to pour; the least slow first."""
    wanted, own_min = hardness_of(material), value_or(material, FigureName.POT_LIFE, 0.0)
    if wanted is None:
        return ()
    ways = ways_to_reach(wanted, materials=catalogue.of_kinds([material.kind]), softeners=())
    longer = [w.material for w in ways if value_or(w.material, FigureName.POT_LIFE, 0.0) > LONGER_RATIO * own_min]
    return tuple(sorted(longer, key=lambda m: (value_or(m, FigureName.POT_LIFE, 0.0), m.id)))


def _rank(option: Option, need: PartNeed, *, spent_min: float) -> tuple[bool | float | str, ...]:
    """What comes first among materials that would do; the margin of the pour before what is ready soonest."""
    trial = option.trial
    late = need.due_min is not None and trial.ready_min + spent_min > need.due_min
    return (
        not trial.fit.fits,
        not trial.enough,
        late,
        not trial.roomy,
        trial.bubbly,
        option.softened,
        option.off_points,
        trial.ready_min,
        trial.cost,
        trial.material.id,
    )


def _way_tried(need: PartNeed, workshop: Workshop, way: FeelWay) -> Trial:
    return casting_trial(need, workshop, way.material, _additives(need, workshop, way))


def _tried(material: Material, build: Callable[[], Trial]) -> Trial | Rejected:
    """The trial, or the problem that keeps it from being one."""
    try:
        return build()
    except WorkshopError as error:
        return Rejected(material_id=material.id, reason=error.problem, remedy=error.remedy)


def _nearest_first(rejected: Sequence[Rejected]) -> tuple[Rejected, ...]:
    """Those that something could let through before those that are another thing altogether."""
    return tuple(sorted(rejected, key=lambda one: not one.remedy))


def _far_points(material: Material, wanted: Hardness) -> float:
    """How far from the feel, in points of the wanted scale; those on a scale that does not meet it come last."""
    have = hardness_of(material)
    above = None if have is None else points_above(have, wanted)
    return float("inf") if above is None else abs(above)


def _candidates(workshop: Workshop, kinds: Sequence[Kind], chosen: str | None) -> tuple[Material, ...]:
    if chosen is None:
        return workshop.catalogue.of_kinds(kinds)
    return (workshop.catalogue.get(chosen),)


def _against_silicone(need: PartNeed, material: Material, casting: Material | None) -> Rejected | None:
    """What speaks against this silicone; None if nothing does."""
    no = partial(Rejected, material_id=material.id)
    if material.kind not in SILICONES:
        return no(reason=f"It is a {material.kind.value}, no silicone for a mould.")
    surface = judge(first=material.traits, second=need.surface_traits, contact=Contact.CURES_AGAINST)
    if surface.verdict is Verdict.REFUSED:
        return no(reason=surface.reason, remedy=surface.remedy)
    if casting is not None:
        against = judge(first=casting.traits, second=material.traits, contact=Contact.CURES_AGAINST)
        if against.verdict is Verdict.REFUSED:
            return no(reason=against.reason, remedy=against.remedy)
    most = value_or(material, FigureName.ELONGATION, DEFAULT_ELONGATION) / STRETCH_SAFETY
    if need.stretch_ratio > most:
        reason = f"The undercut stretches it by {need.stretch_ratio:.0%}; at most {most:.0%} are safe (an estimate)."
        return no(reason=reason, remedy=LESS_STRETCH)
    margin = tear_margin(material, stretch_ratio=need.stretch_ratio)
    if margin is not None and margin < 1.0:
        reason = f"Stretched by {need.stretch_ratio:.0%}, a nick of {NICK_MM:g} mm tears on through it (an estimate)."
        return no(reason=reason, remedy=LESS_STRETCH)
    return None


def _against_casting(need: PartNeed, material: Material) -> Rejected | None:
    no = partial(Rejected, material_id=material.id)
    if material.kind not in CASTING_KINDS:
        return no(reason=f"It is a {material.kind.value}, no casting material.")
    if need.clear and "clear" not in material.traits:
        return no(reason="It is not clear.")
    return None


def _additives(need: PartNeed, workshop: Workshop, way: FeelWay) -> tuple[Additive, ...]:
    additives = [] if way.softener is None else [way.softener]
    wished = ((way.material.colourant, need.colourant_ratio), (way.material.accelerator, need.accelerator_ratio))
    for additive_id, dose_ratio in wished:
        if additive_id is not None and dose_ratio > 0:
            additives.append(Additive(material=workshop.catalogue.get(additive_id), dose_ratio=dose_ratio))
    return tuple(additives)
