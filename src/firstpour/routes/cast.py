"""Copies cast: each kind of mould, silicone, casting material and number of moulds."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from firstpour.choosing.choice import PlannedStep
from firstpour.choosing.decisions import Rejected
from firstpour.choosing.need import PartNeed
from firstpour.choosing.options import Option, casting_options, silicone_options
from firstpour.choosing.preparing import casting_steps
from firstpour.choosing.supplies import LEAST_G, MM2_PER_DM2, RELEASE_EVERY, area_mm2
from firstpour.choosing.trial import Trial, casting_trial, needs_of
from firstpour.errors import WorkshopError
from firstpour.materials.catalogue import Catalogue
from firstpour.materials.compatibility import mould_life
from firstpour.materials.feel import Hardness
from firstpour.materials.material import Kind, Material
from firstpour.materials.steps import On, Step
from firstpour.printing.estimate import SMOOTH_MM
from firstpour.printing.printers import Process
from firstpour.routes.money import Cost, grams_cost
from firstpour.routes.printed import TO_PRINTER_MIN
from firstpour.routes.recipe import Recipe, Way
from firstpour.routes.refused import Refused, miss_of
from firstpour.routes.work import Work
from firstpour.stock.stock import Amount, stock_lines
from firstpour.workshop.workshop import Workshop

OPEN_AND_TRIM_MIN = 5.0
"""Hands that open a mould, take the copy out and trim gate and seam: our own estimate (decision 0051)."""
MOST_MOULDS = 3
"""Up to so many moulds are looked at, and as many as the job asks for."""
RIGID_PRINTS = {Process.FILAMENT: Kind.FILAMENT, Process.VAT: Kind.PHOTOPOLYMER}


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedPieces:
    """What is printed for one mould: minutes on the printer, grams, by process."""

    process: Process
    print_min: float
    grams: float
    count: int


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
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CastRoutes:
    """Recipes, what was refused and why."""

    recipes: tuple[Recipe, ...]
    refused: tuple[Refused, ...]


def cast_routes(
    ways: Sequence[MouldWay], wanted: Hardness, workshop: Workshop, *, planned: tuple[str, str, str] | None = None
) -> CastRoutes:
    """Every casting that passes its hard checks. `planned`: kind, silicone and casting material of the plan."""
    recipes: list[Recipe] = []
    refused: dict[tuple[str, str], Refused] = {}
    for way in ways:
        castings = casting_options(way.need, workshop, wanted)
        for no in castings.rejected:
            against = _not_cast(workshop.catalogue.get(no.material_id), no, wanted)
            refused.setdefault((against.name, against.reason), against)
        for casting in castings.options:
            tight = _tight(casting.trial, name=f"cast in {casting.material.name}")
            if tight is not None:
                refused.setdefault((tight.name, tight.reason), tight)
                continue
            found, others = _of_casting(way, casting, workshop, planned)
            recipes += found
            for one in others:
                refused.setdefault((one.name, one.reason), one)
    return CastRoutes(recipes=tuple(recipes), refused=tuple(refused.values()))


def _not_cast(material: Material, no: Rejected, wanted: Hardness) -> Refused:
    """A casting material turned down: by how much it misses the feel, or the other reason."""
    name = f"cast in {material.name}"
    miss = miss_of(material, wanted)
    if miss is None:
        return Refused(name=name, reason=no.reason, remedy=no.remedy)
    return Refused(name=name, reason=miss.words, remedy=no.remedy, by_points=miss.points)


def _of_casting(
    way: MouldWay, casting: Option, workshop: Workshop, planned: tuple[str, str, str] | None
) -> tuple[list[Recipe], list[Refused]]:
    recipes: list[Recipe] = []
    refused: list[Refused] = []
    fillings: dict[int, Trial] = {}
    for moulds in _mould_counts(way.need):
        tried = _filling(way, casting, workshop, moulds=moulds)
        if isinstance(tried, Trial):
            fillings[moulds] = tried
        else:
            refused.append(tried)
    silicones = silicone_options(way.need, workshop, casting=casting.trial)
    for no in silicones.rejected:
        name = f"a {way.kind} mould of {workshop.catalogue.get(no.material_id).name}"
        refused.append(Refused(name=name, reason=no.reason, remedy=no.remedy))
    for silicone in silicones.options:
        tight = _tight(silicone.trial, name=f"a {way.kind} mould of {silicone.material.name}")
        if tight is not None:
            refused.append(tight)
            continue
        same = planned == (way.kind, silicone.material.id, casting.material.id)
        for moulds, filling in fillings.items():
            recipe = _recipe(way, casting, silicone.trial, filling, workshop, moulds=moulds)
            recipes.append(replace(recipe, planned=same and moulds == way.need.moulds))
    return recipes, refused


def _filling(way: MouldWay, casting: Option, workshop: Workshop, *, moulds: int) -> Trial | Refused:
    """The casting material for so many moulds filled from one mix after the other."""
    count = "" if moulds == 1 else f", {moulds} moulds filled at once"
    name = f"cast in {casting.material.name}{count}"
    try:
        need = replace(way.need, moulds=moulds)
        trial = casting_trial(need, workshop, casting.material, casting.trial.additives)
    except WorkshopError as error:
        return Refused(name=name, reason=error.problem, remedy=error.remedy)
    return _tight(trial, name=name) or trial


def _mould_counts(need: PartNeed) -> tuple[int, ...]:
    most = min(MOST_MOULDS, need.copies)
    return tuple(sorted({*range(1, most + 1), need.moulds}))


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


def _recipe(way: MouldWay, casting: Option, rubber: Trial, cast: Trial, workshop: Workshop, *, moulds: int) -> Recipe:
    need, silicone = replace(way.need, moulds=moulds), rubber.material
    before = casting_steps(need, casting.material, silicone, workshop.kit)
    life = mould_life(casting=casting.material.traits, silicone=silicone.traits)
    steps = _Steps(need=need, master=rubber.steps, mould=before, copy=cast.steps, catalogue=workshop.catalogue)
    mix = cast.mixes[0].mix
    stock = workshop.stock
    grams = {key: _total_g(amount) for key, amount in needs_of(cast.mixes).items()}
    per_shot = [
        grams_cost(workshop.catalogue.get(key), g / (cast.mixes[0].times * moulds), stock) for key, g in grams.items()
    ]
    made = way.need.moulds
    rubber_g = {key: Amount(a_g=one.a_g / made, b_g=one.b_g / made) for key, one in needs_of(rubber.mixes).items()}
    per_mould = [grams_cost(workshop.catalogue.get(key), _total_g(one), stock) for key, one in rubber_g.items()]
    count = "" if moulds == 1 else f", {moulds} moulds"
    uses = {**needs_of(cast.mixes)}
    for key, amount in rubber_g.items():
        uses[key] = uses.get(key, Amount()) + Amount(a_g=amount.a_g * moulds, b_g=amount.b_g * moulds)
    lines = stock_lines(stock, uses, catalogue=workshop.catalogue, today=workshop.today)
    reached = casting.way.reached if casting.way is not None else None
    return Recipe(
        name=f"cast in {casting.material.name}{_softened(casting)}, {way.kind} mould of {silicone.name}{count}",
        way=Way.CAST,
        material=casting.material.name,
        silicone=silicone.name,
        kind=way.kind,
        hardness=reached,
        off_points=casting.way.off_points if casting.way is not None else None,
        flaw_mm=_left_mm(way),
        seam_mm=way.seam_on_show_mm,
        finish=_finish(way),
        once=(_prints(way), *steps.once),
        each_mould=(*steps.each_mould, *_silicone_pours(need, rubber), *steps.after_silicone),
        each_go=(
            *steps.each_go,
            Work(
                what=f"weigh, mix and pour {casting.material.name}",
                hands_min=_work_min(cast) * mix.batches,
                wait_min=cast.demould_min,
            ),
            Work(what="open the mould, trim the copy", hands_each_min=OPEN_AND_TRIM_MIN),
        ),
        each_good=steps.each_good,
        moulds=moulds,
        a_go=moulds,
        life_shots=None if life is None else life.low,
        proof_first=True,
        yield_ratio=need.yield_ratio,
        in_time=cast.fit.chance,
        money_once=(*_print_money(way, workshop), *steps.money(stock, "once")),
        money_mould=(*per_mould, *steps.money(stock, "mould")),
        money_try=(*per_shot, *steps.money(stock, "go")),
        money_good=steps.money(stock, "good"),
        notes=_notes(way, cast, casting),
        to_buy=tuple(
            f"{line.name}: {line.buy}" if line.buy else f"{line.name} (no pack is known)"
            for line in lines
            if not line.enough
        ),
        estimated=way.estimated,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Steps:
    """The steps of a casting, sorted by how often they are done, as they are counted for supplies (decision 0019)."""

    need: PartNeed
    master: tuple[PlannedStep, ...]
    mould: tuple[PlannedStep, ...]
    copy: tuple[PlannedStep, ...]
    catalogue: Catalogue

    def _sorted(self, how_often: str) -> list[Step]:
        found = [*self.need.master_steps, *(one.step for one in (*self.master, *self.mould, *self.copy))]
        return [one for one in found if _how_often(one) == how_often]

    @property
    def once(self) -> tuple[Work, ...]:
        return tuple(_work(one) for one in self._sorted("once"))

    @property
    def each_mould(self) -> tuple[Work, ...]:
        on_master = [one for one in self._sorted("mould") if one.on is On.PRINT]
        return tuple(_work(one) for one in on_master)

    @property
    def after_silicone(self) -> tuple[Work, ...]:
        return tuple(_work(one) for one in self._sorted("mould") if one.on is not On.PRINT)

    @property
    def each_go(self) -> tuple[Work, ...]:
        return tuple(
            Work(what=one.name, hands_each_min=one.hands_min * _share(one), wait_min=one.wait_min * _share(one))
            for one in self._sorted("go")
        )

    @property
    def each_good(self) -> tuple[Work, ...]:
        return tuple(_work(one) for one in self._sorted("good"))

    def money(self, stock: Iterable[object], how_often: str) -> tuple[Cost, ...]:
        """Release, primer, sealer and paint of these steps."""
        area = area_mm2(self.need)
        packs = tuple(stock)
        return tuple(
            grams_cost(
                self.catalogue.get(one.uses),
                _share(one) * max(LEAST_G, one.uses_g_dm2 * area / MM2_PER_DM2),
                packs,  # type: ignore[arg-type]
            )
            for one in self._sorted(how_often)
            if one.uses is not None
        )


def _how_often(one: Step) -> str:
    """once, for each mould, for each go of all moulds, or for each good copy."""
    if one.on is On.COPY:
        return "good"
    if one.on is On.MOULD:
        return "go" if one.each_pour or one.id.startswith("release") else "mould"
    return "mould" if one.id.startswith("release") else "once"


def _share(one: Step) -> float:
    """A mould is misted again every few pours only, where the step is not one of every pour."""
    return 1.0 / RELEASE_EVERY if one.on is On.MOULD and not one.each_pour else 1.0


def _work(one: Step) -> Work:
    return Work(what=one.name, hands_min=one.hands_min, wait_min=one.wait_min)


def _silicone_pours(need: PartNeed, trial: Trial) -> tuple[Work, ...]:
    """The pours of one mould: pieces that cure at once wait once, a bedding's one after the other."""
    hands = [_work_min(trial) * planned.mix.batches for planned in trial.mixes]
    name = f"weigh, mix and pour {trial.material.name}"
    if need.serial_pours > 1:
        return tuple(Work(what=name, hands_min=one, wait_min=trial.demould_min) for one in hands)
    return (Work(what=name, hands_min=sum(hands), wait_min=trial.demould_min),)


def _work_min(trial: Trial) -> float:
    """Minutes of one pour, weighing and all."""
    return sum(one.time.mean_min for one in trial.fit.steps)


def _prints(way: MouldWay) -> Work:
    hands = TO_PRINTER_MIN * sum(one.count for one in way.pieces)
    return Work(
        what="print master and mould pieces",
        hands_min=hands,
        wait_min=sum(one.print_min for one in way.pieces),
        printing=True,
    )


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


def _notes(way: MouldWay, cast: Trial, casting: Option) -> tuple[str, ...]:
    notes = list(way.notes)
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
