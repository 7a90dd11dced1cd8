"""What was planned for a figure that is read off at the bench: of which material, and how many minutes."""

from dataclasses import dataclass
from datetime import datetime

from firstpour.bench.course import good_before, round_in
from firstpour.bench.plates import copies_on
from firstpour.bench.read import Session
from firstpour.bench.steps import BenchStep, StepKind
from firstpour.files.material_entries import PlannedMixEntry
from firstpour.formulas.cure import arrhenius_time_ratio
from firstpour.materials.catalogue import Catalogue
from firstpour.materials.figures import FigureName
from firstpour.materials.material import value_or
from firstpour.mixing.heat import ACTIVATION_ENERGY_KJ_MOL
from firstpour.sheets.printed_page import run_min
from firstpour.store.learned import DEMOULD, PACE, POT_LIFE, POUR, PRINT, WORK
from firstpour.store.runs import Measurement


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """Planned minutes, and what they are about: a material, or how a piece is printed. None: nothing was planned."""

    minutes: float | None = None
    about: str | None = None


def planned_of(session: Session, here: BenchStep, what: str, catalogue: Catalogue) -> Planned:
    """The minutes of the records at the step at hand, at the temperature of the session.

    What the plan had multiplied them by, for what was seen before, is taken off again: else a factor would only ever
    be believed by half.
    """
    if what == PRINT:
        return _plain(session, what, _print(session, here))
    if what not in (POT_LIFE, DEMOULD):
        return Planned()
    mix = _mix(session, here)
    if mix is None:
        return Planned()
    minutes = mix.pot_life_min if what == POT_LIFE else mix.demould_min
    warm_min = minutes * _warmth(session, mix, catalogue)
    return _plain(session, what, Planned(minutes=warm_min, about=mix.material))


def _plain(session: Session, what: str, planned: Planned) -> Planned:
    """Without the factor that the plan reckoned with."""
    if planned.minutes is None or planned.about is None:
        return planned
    return Planned(minutes=planned.minutes / session.plan.learned.ratio(what, planned.about), about=planned.about)


def pace_at(session: Session, here: BenchStep, *, begun: datetime, at: datetime, entry_id: int) -> Measurement | None:
    """Minutes of hands from `begun` to `at` against those of the step; None where the step states none."""
    if here.hands_min is None:
        return None
    about = POUR if here.kind is StepKind.POUR else WORK
    took_min = (at - begun).total_seconds() / 60 - here.by_itself_min
    # the steps of other work keep the minutes of their table
    held = session.plan.learned.ratio(PACE, POUR) if about == POUR else 1.0
    return Measurement(
        entry_id=entry_id,
        what=PACE,
        value=took_min,
        wanted=here.hands_min / held,
        unit="min",
        material_id=about,
    )


def _warmth(session: Session, mix: PlannedMixEntry, catalogue: Catalogue) -> float:
    """How much longer it takes at the temperature of the session than at the plan's."""
    rooms = [one.value for one in session.measured if one.unit == "°C"]
    room_c = rooms[-1] if rooms else session.run.temperature_c
    if room_c is None:
        return 1.0
    material = catalogue.get(mix.material)
    energy = value_or(material, FigureName.ACTIVATION_ENERGY, ACTIVATION_ENERGY_KJ_MOL)
    return arrhenius_time_ratio(activation_energy_kj_mol=energy, from_c=mix.temperature_c, to_c=room_c)


def _mix(session: Session, here: BenchStep) -> PlannedMixEntry | None:
    """The mix of the pour that the step belongs to."""
    materials = session.materials
    if materials is None:
        return None
    stage, _, rest = here.id.partition("/")
    if stage.startswith("round-"):
        return materials.casting.mixes[0] if materials.casting is not None and materials.casting.mixes else None
    if materials.silicone is None or not stage.startswith("mould-"):
        return None
    piece = rest.partition("/")[0]
    return next((one for one in materials.silicone.mixes if one.what == piece), None)


def _print(session: Session, here: BenchStep) -> Planned:
    if session.printed is not None and here.id.endswith(("/print", "/printed")):
        missing = session.part.copies - good_before(session, round_in(here.id) or 1)
        copies = copies_on(session.printed, round_in(here.id) or 1, missing)
        return Planned(minutes=run_min(session.printed, copies), about=session.printed.process)
    if session.cast is None or not here.id.startswith("ready/print"):
        return Planned()
    one = session.cast.prints[int(here.id.rpartition("-")[2]) - 1]
    return Planned(minutes=one.print_min, about=one.process)
