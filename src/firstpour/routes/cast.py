"""Copies cast: each kind of mould, silicone, casting material and number of moulds."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from firstpour.choosing.counts import filled_at_once, round_sizes, shots
from firstpour.choosing.decisions import Rejected
from firstpour.choosing.filling import moulds_in_one_mix
from firstpour.choosing.need import PartNeed
from firstpour.choosing.options import Option, casting_options, silicone_options
from firstpour.choosing.preparing import casting_steps
from firstpour.choosing.supplies import LEAST_G, MM2_PER_DM2, area_mm2
from firstpour.choosing.trial import Trial, casting_trial, needs_of, silicone_trial
from firstpour.errors import WorkshopError
from firstpour.materials.additives import Additive
from firstpour.materials.compatibility import mould_life
from firstpour.materials.feel import Hardness
from firstpour.materials.material import Kind, Material
from firstpour.materials.steps import Step
from firstpour.printing.estimate import SMOOTH_MM
from firstpour.printing.printers import Printer, Process
from firstpour.routes.labour import Poured, cast_labour, cast_steps, work_of
from firstpour.routes.lesser import Lesser, never_better
from firstpour.routes.money import Cost, grams_cost
from firstpour.routes.recipe import Recipe, Way
from firstpour.routes.refused import Refused, miss_of
from firstpour.routes.work import Work
from firstpour.stock.stock import Amount, stock_lines
from firstpour.workshop.workshop import Workshop

MOST_MOULDS = 3
"""Up to so many moulds are looked at, and as many as the job asks for."""
RIGID_PRINTS = {Process.FILAMENT: Kind.FILAMENT, Process.VAT: Kind.PHOTOPOLYMER}


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedPieces:
    """What is printed for one mould: hands at the printer, minutes that it runs, grams, by process."""

    process: Process
    hands_min: float
    run_min: float
    grams: float

    @classmethod
    def on(cls, printer: Printer, *, print_min: float, grams: float, count: int = 1) -> "PrintedPieces":
        """So many pieces on that printer that take `print_min` in all."""
        return cls(
            process=printer.process,
            hands_min=count * printer.handling_min,
            run_min=printer.run_min(print_min),
            grams=grams,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class MouldWay:
    """One kind of mould for the part: what the shelf must know of it, its prints, and the steps left on the master.

    `estimated`: it was not worked out; volumes are those of a block around the part.
    """

    kind: str
    need: PartNeed
    pieces: tuple[PrintedPieces, ...]
    step_mm: float
    seam_on_show_mm: float
    estimated: bool
    cleaning: tuple[Step, ...] = ()
    """Work that the prints other than the master's own surface need."""
    fit_miss_mm: float = 0.0
    """How far the fits of the copies lie outside of their tolerances, in all."""
    notes: tuple[str, ...] = ()


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
        castings = casting_options(replace(way.need, moulds=1), workshop, wanted)
        for no in castings.rejected:
            found.refuse(_not_cast(workshop.catalogue.get(no.material_id), no, wanted))
        recipes: list[Recipe] = []
        for option in castings.options:
            recipes += _of_material(way, option, workshop, planned, found)
        kept, lesser = never_better(recipes)
        found.recipes += kept
        found.lesser += lesser
    return CastRoutes(recipes=tuple(found.recipes), refused=tuple(found.refused.values()), lesser=tuple(found.lesser))


class _Found:
    """What has been found so far; the same refusal counts once."""

    def __init__(self) -> None:
        self.recipes: list[Recipe] = []
        self.refused: dict[tuple[str, str], Refused] = {}
        self.lesser: list[Lesser] = []

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
            recipes += [one.recipe for one in made]
            for cast in quicker:
                recipes += [one.recipe for one in _recipes(way, cast, made[0].rubber, workshop, planned)]
    return recipes


def _standing_for(made: Sequence["_Made"]) -> Recipe:
    """One recipe of a silicone for all of them: that of the fewest moulds, which stands where one is the plan's."""
    return replace(made[0].recipe, planned=any(one.recipe.planned for one in made))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cast:
    """A casting material with so much accelerator, and the mix for each number of moulds."""

    casting: Option
    quick_ratio: float
    fillings: dict[int, "_Filling"]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rubber:
    """A silicone with so much accelerator."""

    trial: Trial
    quick_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Made:
    """A recipe and the silicone that it is made with."""

    recipe: Recipe
    rubber: _Rubber


def _casts(way: MouldWay, base: Option, workshop: Workshop, found: _Found) -> list[_Cast]:
    """The casting material by itself and with its accelerator, as far as its pour ends in time."""
    casts = []
    for ratio in _doses(base.material, workshop, asked_ratio=way.need.accelerator_ratio):
        name = f"cast in {base.material.name}{_quick_words(ratio)}"
        try:
            casting = _quickened(replace(way.need, moulds=1), base, workshop, ratio)
            tight = _tight(casting.trial, name=f"{name}{_cavity_words(way.need)}")
            if tight is not None:
                found.refuse(tight)
                continue
            fillings = _fillings(way.need, casting, workshop)
            casts.append(_Cast(casting=casting, quick_ratio=ratio, fillings=fillings))
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


def _rubbers(way: MouldWay, casting: Option, workshop: Workshop, found: _Found) -> list[_Rubber]:
    """The silicones that will do for that casting material, by themselves and with their accelerators."""
    silicones = silicone_options(way.need, workshop, casting=casting.trial)
    for no in silicones.rejected:
        name = f"a {way.kind} mould of {workshop.catalogue.get(no.material_id).name}"
        found.refuse(Refused(name=name, reason=no.reason, remedy=no.remedy))
    rubbers = []
    for option in silicones.options:
        for ratio in _doses(option.material, workshop, asked_ratio=way.need.silicone_accelerator_ratio):
            name = f"a {way.kind} mould of {option.material.name}{_quick_words(ratio)}{_cavity_words(way.need)}"
            try:
                trial = option.trial
                if ratio:
                    quick = replace(way.need, silicone_accelerator_ratio=ratio)
                    trial = silicone_trial(quick, workshop, option.material, casting=casting.material)
            except WorkshopError as error:
                found.refuse(Refused(name=name, reason=error.problem, remedy=error.remedy))
                continue
            tight = _tight(trial, name=name)
            if tight is None:
                rubbers.append(_Rubber(trial=trial, quick_ratio=ratio))
            else:
                found.refuse(tight)
    return rubbers


def _recipes(way: MouldWay, cast: _Cast, rubber: _Rubber, workshop: Workshop, planned: Planned | None) -> list[_Made]:
    """One recipe for each number of moulds."""
    quick = bool(cast.quick_ratio or rubber.quick_ratio)
    follows = planned == _mould_of(way, cast.casting, rubber.trial.material) and not quick
    made = []
    for moulds, filling in cast.fillings.items():
        recipe = _recipe(way, cast, rubber, filling, workshop, moulds=moulds)
        recipe = replace(recipe, planned=follows and moulds == way.need.moulds)
        made.append(_Made(recipe=recipe, rubber=rubber))
    return made


def _mould_of(way: MouldWay, casting: Option, silicone: Material) -> Planned:
    return Planned(kind=way.kind, silicone=silicone.id, casting=casting.material.id, cavities=way.need.cavities)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Filling:
    """So many moulds filled, `at_once` of them from one mix, which is the `trial`."""

    trial: Trial
    at_once: int


def _fillings(need: PartNeed, casting: Option, workshop: Workshop) -> dict[int, _Filling]:
    """Each number of moulds and the mix that fills them, or as many of them as it can."""
    counts, (material, additives) = _mould_counts(need), (casting.material, casting.trial.additives)
    at_once = moulds_in_one_mix(need, workshop, material, additives, most=max(counts))
    trials = {
        mixed: casting_trial(replace(need, moulds=mixed), workshop, material, additives)
        for mixed in {min(count, at_once) for count in counts}
    }
    return {count: _Filling(trial=trials[min(count, at_once)], at_once=at_once) for count in counts}


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


def _recipe(
    way: MouldWay, cast_in: _Cast, in_rubber: _Rubber, filling: _Filling, workshop: Workshop, *, moulds: int
) -> Recipe:
    casting, rubber, cast = cast_in.casting, in_rubber.trial, filling.trial
    need, silicone = replace(way.need, moulds=moulds), rubber.material
    before = casting_steps(need, casting.material, silicone, workshop.kit)
    life = mould_life(casting=casting.material.traits, silicone=silicone.traits)
    steps = cast_steps(need.master_steps, (*rubber.steps, *before, *cast.steps))
    labour = cast_labour(
        _prints(way),
        steps,
        Poured(
            what=f"weigh, mix and pour {silicone.name}",
            fit=rubber.fit,
            mixes=rubber.mixes,
            demould_min=rubber.demould_min,
        ),
        Poured(
            what=f"weigh, mix and pour {casting.material.name}",
            fit=cast.fit,
            mixes=cast.mixes,
            demould_min=cast.demould_min,
            at_once=filling.at_once * need.cavities,
        ),
        serial=need.serial_pours > 1,
        cavities=need.cavities,
    )
    stock = workshop.stock
    grams = {key: _total_g(amount) for key, amount in needs_of(cast.mixes).items()}
    mixed = cast.mixes[0].times * min(moulds, filling.at_once) * need.cavities
    per_shot = [grams_cost(workshop.catalogue.get(key), g / mixed, stock) for key, g in grams.items()]
    made = way.need.moulds
    rubber_g = {key: Amount(a_g=one.a_g / made, b_g=one.b_g / made) for key, one in needs_of(rubber.mixes).items()}
    per_mould = [grams_cost(workshop.catalogue.get(key), _total_g(one), stock) for key, one in rubber_g.items()]
    count = "" if moulds == 1 else f", {moulds} moulds"
    uses = {**needs_of(cast.mixes)}
    for key, amount in rubber_g.items():
        uses[key] = uses.get(key, Amount()) + Amount(a_g=amount.a_g * moulds, b_g=amount.b_g * moulds)
    lines = stock_lines(stock, uses, catalogue=workshop.catalogue, today=workshop.today)
    reached = casting.way.reached if casting.way is not None else None
    stirred = f"{_softened(casting)}{_quick_words(cast_in.quick_ratio)}"
    mould = f"{way.kind} mould of {silicone.name}{_quick_words(in_rubber.quick_ratio)}{_cavity_words(need)}"
    used = _Used(need=need, workshop=workshop)
    return Recipe(
        name=f"cast in {casting.material.name}{stirred}, {mould}{count}",
        way=Way.CAST,
        material=casting.material.name,
        material_id=casting.material.id,
        silicone=silicone.name,
        silicone_id=silicone.id,
        kind=way.kind,
        hardness=reached,
        off_points=casting.way.off_points if casting.way is not None else None,
        flaw_mm=_left_mm(way),
        seam_mm=way.seam_on_show_mm,
        fit_miss_mm=way.fit_miss_mm,
        accelerator_ratio=cast_in.quick_ratio or None,
        silicone_accelerator_ratio=in_rubber.quick_ratio or None,
        finish=_finish(way),
        once=labour.once,
        each_mould=labour.each_mould,
        each_go=labour.each_go,
        now_and_then=labour.now_and_then,
        each_good=labour.each_good,
        moulds=moulds,
        a_go=filled_at_once(need),
        life_shots=None if life is None else life.low * need.cavities,
        a_mould=need.cavities,
        yield_ratio=need.yield_ratio,
        seen_good=need.seen_good,
        seen_shots=need.seen_shots,
        in_time=cast.fit.chance,
        money_once=(*_print_money(way, workshop), *used.money(steps.once)),
        money_mould=(*per_mould, *used.money((*steps.between_halves, *steps.while_it_cures, *steps.once_a_mould))),
        money_now_and_then=used.money(steps.now_and_then),
        money_try=(*per_shot, *used.money(steps.each_shot)),
        money_good=used.money(steps.each_good),
        notes=_notes(way, cast, casting, moulds=moulds, at_once=filling.at_once),
        to_buy=tuple(
            f"{line.name}: {line.buy}" if line.buy else f"{line.name} (no pack is known)"
            for line in lines
            if not line.enough
        ),
        estimated=way.estimated,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Used:
    """What steps use up on one part."""

    need: PartNeed
    workshop: Workshop

    def money(self, steps: Sequence[Step]) -> tuple[Cost, ...]:
        """Release, primer, sealer and paint of these steps, each done once."""
        area = area_mm2(self.need)
        return tuple(
            grams_cost(
                self.workshop.catalogue.get(one.uses),
                max(LEAST_G, one.uses_g_dm2 * area / MM2_PER_DM2),
                self.workshop.stock,
            )
            for one in steps
            if one.uses is not None
        )


def _prints(way: MouldWay) -> tuple[Work, ...]:
    """Master and mould pieces, one after the other, cleaned."""
    prints = Work(
        what="print master and mould pieces",
        hands_min=sum(one.hands_min for one in way.pieces),
        wait_min=sum(one.run_min for one in way.pieces),
        printing=True,
    )
    return (prints, *(work_of(one) for one in way.cleaning))


def _print_money(way: MouldWay, workshop: Workshop) -> tuple[Cost, ...]:
    """The printed pieces in the cheapest material of their process."""
    found = []
    for one in way.pieces:
        known = workshop.catalogue.of_kinds([RIGID_PRINTS[one.process]])
        if not known:
            found.append(Cost(what=f"{one.process.value} for prints", amount=one.grams, unit="g", each=None))
            continue
        costs = [grams_cost(material, one.grams, workshop.stock) for material in known]
        found.append(min(costs, key=lambda cost: (cost.each is None, cost.money)))
    return tuple(found)


def _quick_words(ratio: float) -> str:
    return f" with {100.0 * ratio:.2g} % accelerator" if ratio else ""


def _cavity_words(need: PartNeed) -> str:
    return "" if need.cavities == 1 else f", {need.cavities} cavities"


def _softened(casting: Option) -> str:
    return f" softened to {casting.way.reached}" if casting.way is not None and casting.softened else ""


def _left_mm(way: MouldWay) -> float:
    """Steps that the copies show: those of the print, unless it is sanded or primed before silicone copies it."""
    smooth = any(one.id in ("sand", "prime", "sand-primer") for one in way.need.master_steps)
    return 0.0 if smooth else way.step_mm


def _finish(way: MouldWay) -> str:
    seam = f", {way.seam_on_show_mm:.0f} mm of seam on show faces" if way.seam_on_show_mm > 1.0 else ""
    left = _left_mm(way)
    smooth = "smooth as the sanded master" if left == 0.0 else f"copies steps of {left:.2f} mm of the master"
    smooth = "smooth as the master" if 0.0 < left <= SMOOTH_MM else smooth
    return f"{smooth}, its gloss too{seam}"


def _notes(way: MouldWay, cast: Trial, casting: Option, *, moulds: int, at_once: int) -> tuple[str, ...]:
    notes = list(way.notes)
    if moulds > at_once:
        notes.append(
            f"one mix fills {at_once} of the {moulds} moulds: a filling takes {ceil(moulds / at_once)} mixes"
        )
    mix = cast.mixes[0].mix
    colour = [one for one in mix.additives if one.mass_g > 0 and _colours(one.id, casting.material)]
    notes += [
        f"{one.mass_g:.2f} g of {one.id} for each mix of {mix.total_g:.0f} g, the same every time" for one in colour
    ]
    notes.append("a copy takes its master's gloss: matt sealer, matt copies")
    if way.estimated:
        notes.append("its mould was not worked out: volumes and prints are estimates")
    return tuple(notes)


def _colours(additive_id: str, material: Material) -> bool:
    return additive_id == material.colourant


def _total_g(amount: Amount) -> float:
    return amount.a_g + amount.b_g
