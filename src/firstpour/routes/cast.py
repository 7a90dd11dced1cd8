"""Copies cast: each kind of mould, silicone, casting material and number of moulds."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from firstpour.choosing.counts import round_sizes, shots
from firstpour.choosing.decisions import Rejected
from firstpour.choosing.filling import moulds_in_one_mix
from firstpour.choosing.need import PartNeed
from firstpour.choosing.options import Option, casting_options, silicone_options
from firstpour.choosing.trial import Trial, casting_trial, needs_of, silicone_trial
from firstpour.errors import WorkshopError
from firstpour.materials.additives import Additive
from firstpour.materials.feel import Hardness
from firstpour.materials.material import Material
from firstpour.routes.cast_recipe import Cast, Filling, MouldWay, Rubber, cast_recipe, cavity_words, quick_words
from firstpour.routes.lesser import Lesser, never_better
from firstpour.routes.recipe import Recipe
from firstpour.routes.refused import Refused, miss_of
from firstpour.stock.stock import Amount, stock_lines
from firstpour.workshop.workshop import Workshop

MOST_MOULDS = 3
"""Up to so many moulds are looked at, and as many as the job asks for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """What the plan follows: kind of mould, ids of silicone and casting material, cavities."""

    kind: str
    silicone: str
    casting: str
    cavities: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class CastRoutes:
    """Recipes, what was refused and why, and those never better than a recipe that stands."""

    recipes: tuple[Recipe, ...]
    refused: tuple[Refused, ...]
    lesser: tuple[Lesser, ...] = ()


def cast_routes(
    ways: Sequence[MouldWay], wanted: Hardness, workshop: Workshop, *, planned: Planned | None = None
) -> CastRoutes:
    """Every casting that passes its hard checks, but for those never better than another of the same mould.

    Candidates are every casting material that reaches the feel and every silicone, each by itself and with every dose
    of its accelerator's table, in every one of these moulds, and in 1, 2, 3 … of it.
    """
    found = _Found()
    for way in ways:
        found.quick.clear()
        castings = casting_options(replace(way.need, moulds=1), workshop, wanted)
        for no in castings.rejected:
            found.refuse(_not_cast(workshop.catalogue.get(no.material_id), no, wanted))
        recipes: list[Recipe] = []
        for option in castings.options:
            recipes += _of_material(way, option, workshop, planned, found)
        kept, lesser = never_better(recipes)
        found.recipes += [replace(one, to_buy=found.to_buy(one, workshop)) for one in kept]
        found.lesser += lesser
    return CastRoutes(recipes=tuple(found.recipes), refused=tuple(found.refused.values()), lesser=tuple(found.lesser))


class _Found:
    """What has been found so far; the same refusal counts once."""

    def __init__(self) -> None:
        self.recipes: list[Recipe] = []
        self.refused: dict[tuple[str, str], Refused] = {}
        self.lesser: list[Lesser] = []
        self.uses: dict[str, dict[str, Amount]] = {}
        """Grams of both materials that each recipe uses up, by its name."""
        self.quick: dict[tuple[str, float], Trial] = {}
        """Accelerated silicones in the mould that is looked at, by id and dose."""

    def quick_trial(self, need: PartNeed, option: Option, workshop: Workshop, ratio: float) -> Trial:
        """The silicone with so much accelerator; it is the same for every casting material.

        Raises
        ------
        WorkshopError
            If it cannot be mixed or worked so.
        """
        key = (option.material.id, ratio)
        if key not in self.quick:
            quick = replace(need, silicone_accelerator_ratio=ratio)
            self.quick[key] = silicone_trial(quick, workshop, option.material, casting=None)
        return self.quick[key]

    def to_buy(self, one: Recipe, workshop: Workshop) -> tuple[str, ...]:
        """What the shelf lacks for that recipe."""
        lines = stock_lines(workshop.stock, self.uses[one.name], catalogue=workshop.catalogue, today=workshop.today)
        return tuple(
            f"{line.name}: {line.buy}" if line.buy else f"{line.name} (no pack is known)"
            for line in lines
            if not line.enough
        )

    def refuse(self, one: Refused) -> None:
        self.refused.setdefault((one.name, one.reason), one)


def _not_cast(material: Material, no: Rejected, wanted: Hardness) -> Refused:
    """A casting material turned down: by how much it misses the feel, or the other reason."""
    name = f"cast in {material.name}"
    miss = miss_of(material, wanted)
    if miss is None:
        return Refused(name=name, reason=no.reason, remedy=no.remedy)
    return Refused(name=name, reason=miss.words, remedy=no.remedy, by_points=miss.points)


def _doses(material: Material, workshop: Workshop, *, asked_ratio: float) -> tuple[float, ...]:
    """Without its accelerator, and each dose of its table, where the job leaves open whether one is stirred in."""
    if material.accelerator is None or asked_ratio > 0.0:
        return (0.0,)
    doses = workshop.catalogue.get(material.accelerator).doses
    return (0.0, *(one.dose_ratio for one in doses if one.dose_ratio > 0.0))


def _of_material(
    way: MouldWay, base: Option, workshop: Workshop, planned: Planned | None, found: _Found
) -> list[Recipe]:
    """The recipes of one casting material in one mould."""
    casts = _casts(way, base, workshop, found)
    if not casts:
        return []
    first, *quicker = casts
    rubbers = [_recipes(way, first, rubber, workshop, planned) for rubber in _rubbers(way, base, workshop, found)]
    kept, lesser = never_better([_standing_for(made) for made in rubbers])
    found.lesser += [replace(one, count=len(casts) * len(first.fillings)) for one in lesser]
    stand = {one.name for one in kept}
    recipes: list[Recipe] = []
    for made in rubbers:
        if made[0].recipe.name in stand:
            for one in (*made, *_quicker(way, quicker, made[0].rubber, workshop)):
                found.uses[one.recipe.name] = one.uses
                recipes.append(one.recipe)
    return recipes


def _quicker(way: MouldWay, casts: Sequence["Cast"], rubber: "Rubber", workshop: Workshop) -> list["_Made"]:
    """The recipes of that silicone with the accelerated casting material: none is what the plan follows."""
    return [one for cast in casts for one in _recipes(way, cast, rubber, workshop, None)]


def _standing_for(made: Sequence["_Made"]) -> Recipe:
    """One recipe of a silicone for all of them: that of the fewest moulds, which stands where one is the plan's."""
    return replace(made[0].recipe, planned=any(one.recipe.planned for one in made))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Made:
    """A recipe, the silicone that it is made with, and grams of both materials that it uses up, by id."""

    recipe: Recipe
    rubber: Rubber
    uses: dict[str, Amount]


def _casts(way: MouldWay, base: Option, workshop: Workshop, found: _Found) -> list[Cast]:
    """The casting material by itself and with its accelerator, as far as its pour ends in time."""
    casts = []
    for ratio in _doses(base.material, workshop, asked_ratio=way.need.accelerator_ratio):
        name = f"cast in {base.material.name}{quick_words(ratio)}"
        try:
            casting = _quickened(replace(way.need, moulds=1), base, workshop, ratio)
            tight = _tight(casting.trial, name=f"{name}{cavity_words(way.need)}")
            if tight is not None:
                found.refuse(tight)
                continue
            fillings = _fillings(way.need, casting, workshop)
            casts.append(Cast(casting=casting, quick_ratio=ratio, fillings=fillings))
        except WorkshopError as error:
            found.refuse(Refused(name=name, reason=error.problem, remedy=error.remedy))
    return casts


def _quickened(need: PartNeed, casting: Option, workshop: Workshop, ratio: float) -> Option:
    """The casting with so much accelerator.

    Raises
    ------
    WorkshopError
        If it cannot be mixed or worked so.
    """
    if ratio == 0.0 or casting.material.accelerator is None:
        return casting
    quicker = Additive(material=workshop.catalogue.get(casting.material.accelerator), dose_ratio=ratio)
    trial = casting_trial(need, workshop, casting.material, (*casting.trial.additives, quicker))
    return replace(casting, trial=trial)


def _rubbers(way: MouldWay, casting: Option, workshop: Workshop, found: _Found) -> list[Rubber]:
    """The silicones that will do for that casting material, by themselves and with their accelerators."""
    silicones = silicone_options(way.need, workshop, casting=casting.trial)
    for no in silicones.rejected:
        name = f"a {way.kind} mould of {workshop.catalogue.get(no.material_id).name}"
        found.refuse(Refused(name=name, reason=no.reason, remedy=no.remedy))
    rubbers = []
    for option in silicones.options:
        for ratio in _doses(option.material, workshop, asked_ratio=way.need.silicone_accelerator_ratio):
            name = f"a {way.kind} mould of {option.material.name}{quick_words(ratio)}{cavity_words(way.need)}"
            try:
                trial = found.quick_trial(way.need, option, workshop, ratio) if ratio else option.trial
            except WorkshopError as error:
                found.refuse(Refused(name=name, reason=error.problem, remedy=error.remedy))
                continue
            tight = _tight(trial, name=name)
            if tight is None:
                rubbers.append(Rubber(trial=trial, quick_ratio=ratio))
            else:
                found.refuse(tight)
    return rubbers


def _recipes(way: MouldWay, cast: Cast, rubber: Rubber, workshop: Workshop, planned: Planned | None) -> list[_Made]:
    """One recipe for each number of moulds."""
    quick = bool(cast.quick_ratio or rubber.quick_ratio)
    follows = planned == _mould_of(way, cast.casting, rubber.trial.material) and not quick
    made = []
    for moulds, filling in cast.fillings.items():
        recipe = cast_recipe(way, cast, rubber, filling, workshop, moulds=moulds)
        recipe = replace(recipe, planned=follows and moulds == way.need.moulds)
        made.append(_Made(recipe=recipe, rubber=rubber, uses=_uses(way, rubber, filling, moulds=moulds)))
    return made


def _uses(way: MouldWay, rubber: Rubber, filling: "Filling", *, moulds: int) -> dict[str, Amount]:
    """Grams of silicone and casting material with what is stirred in, by id."""
    uses = {**needs_of(filling.trial.mixes)}
    share = moulds / way.need.moulds
    for key, amount in needs_of(rubber.trial.mixes).items():
        uses[key] = uses.get(key, Amount()) + Amount(a_g=share * amount.a_g, b_g=share * amount.b_g)
    return uses


def _mould_of(way: MouldWay, casting: Option, silicone: Material) -> Planned:
    return Planned(kind=way.kind, silicone=silicone.id, casting=casting.material.id, cavities=way.need.cavities)


def _fillings(need: PartNeed, casting: Option, workshop: Workshop) -> dict[int, Filling]:
    """Each number of moulds and the mix that fills them, or as many of them as it can."""
    counts, (material, additives) = _mould_counts(need), (casting.material, casting.trial.additives)
    at_once = moulds_in_one_mix(need, workshop, material, additives, most=max(counts))
    trials = {
        mixed: casting_trial(replace(need, moulds=mixed), workshop, material, additives)
        for mixed in {min(count, at_once) for count in counts}
    }
    return {count: Filling(trial=trials[min(count, at_once)], at_once=at_once) for count in counts}


def _mould_counts(need: PartNeed) -> tuple[int, ...]:
    """1, 2, 3 moulds, as long as each of them is filled, and as many as the job asks for."""
    most = min(MOST_MOULDS, _filled_moulds(need))
    return tuple(sorted({*range(1, most + 1), need.moulds}))


def _filled_moulds(need: PartNeed) -> int:
    """The most moulds that are all filled at once in some round."""
    sizes = round_sizes(shots(need), moulds=MOST_MOULDS, cavities=need.cavities)
    return ceil(max(sizes) / need.cavities)


def _tight(trial: Trial, *, name: str) -> Refused | None:
    """The refusal of a pour that would not end within the pot life."""
    if trial.fit.fits:
        return None
    change = trial.fit.changes[0].text if trial.fit.changes else "Take a slower material."
    left = trial.fit.margin_min
    why = trial.fit.problem or (
        f"The pour takes {trial.fit.work_min:.0f} min of a pot life of {trial.fit.work_min + (left or 0.0):.0f} min."
    )
    return Refused(name=name, reason=why, remedy=trial.fit.remedy or change)
