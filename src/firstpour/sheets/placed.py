"""Which caution and which finding stands on which page: beside the step that it concerns."""

from collections.abc import Iterable, Sequence
from enum import StrEnum

from firstpour.files.entry import FindingEntry
from firstpour.files.material_entries import CautionEntry
from firstpour.files.plan_json import PartEntry, PlanEntry
from firstpour.materials.cautions import FIRST
from firstpour.values import Severity


class Moment(StrEnum):
    """The moments of the work at which something is said."""

    PRINT = "print"
    SURFACE = "surface"
    MIX = "mix"
    AIR = "air"
    AFTER_POUR = "after the pour"
    MOULD = "mould"
    SET_IN = "set in"
    CAST = "cast"
    OPEN = "open"
    FINISH = "finish"


CAUTIONS = {
    "filament": (Moment.PRINT,),
    "photopolymer": (Moment.PRINT, Moment.SURFACE),
    "wash-solvent": (Moment.PRINT, Moment.SURFACE),
    "dust": (Moment.SURFACE, Moment.FINISH),
    "spray": (Moment.SURFACE, Moment.MOULD),
    "solvent": (Moment.SURFACE, Moment.MOULD),
    "clay": (Moment.SURFACE,),
    "warm-cure": (Moment.SURFACE, Moment.FINISH),
    "magnet": (Moment.MOULD,),
    "vacuum": (Moment.AIR,),
    "pressure": (Moment.AIR,),
    "heat-of-cure": (Moment.AFTER_POUR,),
}
"""The moments of each caution; one that is not here is said before anything is mixed."""

FINDINGS = {
    "air-in-silicone": Moment.MIX,
    "gate-lone": Moment.MOULD,
    "vent-drilled": Moment.MOULD,
    "locked-in-tray": Moment.MOULD,
    "loose-silicone": Moment.MOULD,
    "master-floats": Moment.MIX,
    "master-leans": Moment.MIX,
    "insert-may-fall": Moment.SET_IN,
    "insert-magnet": Moment.SET_IN,
    "level-roof": Moment.CAST,
    "lean-leaves-less": Moment.CAST,
    "vent-near-gate": Moment.CAST,
    "vent-no-place": Moment.CAST,
    "vent-not-needed": Moment.CAST,
    "vent-runs-over": Moment.CAST,
    "air-stays": Moment.CAST,
    "more-air-stays": Moment.CAST,
    "fill-tight": Moment.CAST,
    "fill-too-slow": Moment.CAST,
    "gate-turbulent": Moment.CAST,
    "part-gets-hot": Moment.AFTER_POUR,
    "left-overs-get-hot": Moment.AFTER_POUR,
    "thin-sets-later": Moment.OPEN,
    "undercut": Moment.OPEN,
    "undercut-tears": Moment.OPEN,
    "cut-open": Moment.OPEN,
}
"""Where a finding is said beside its step; warnings and errors stand on the first page as well."""
UNKNOWN_CAUTIONS = (
    FIRST,
    "Prints, sprays, silicones, resins and their dusts can harm through lungs and skin: nitrile gloves, eye "
    "protection and plenty of air for each, a mask that holds vapour for sprays, and sand wet.",
)
"""What can harm where no material is chosen yet."""
ON_FIRST_PAGE = (Severity.ERROR, Severity.WARNING)


def first_words(cautions: Iterable[CautionEntry]) -> tuple[str, ...]:
    """What comes before anything that this sheet says."""
    return tuple(one.text for one in cautions if one.id == "first")


def cautions_at(cautions: Sequence[CautionEntry], *moments: Moment) -> tuple[str, ...]:
    """The cautions of these moments, each once."""
    wanted = [one for one in cautions if one.id != "first" and set(moments_of(one.id)) & set(moments)]
    return tuple(dict.fromkeys(one.text for one in wanted))


def moments_of(caution_id: str) -> tuple[Moment, ...]:
    """The moments at which a caution is said.

    >>> moments_of("vacuum"), moments_of("isocyanate")
    ((<Moment.AIR: 'air'>,), (<Moment.MIX: 'mix'>,))
    """
    return CAUTIONS.get(caution_id, (Moment.MIX,))


def findings_at(plan: PlanEntry, part: PartEntry, *moments: Moment) -> tuple[FindingEntry, ...]:
    """What the plan says of this part at these moments."""
    return tuple(one for one in plan.findings if FINDINGS.get(one.code) in moments and _concerns(one, part.name))


def _concerns(finding: FindingEntry, name: str) -> bool:
    """Whether one of the finding's places is the part itself or lies on it."""
    places = (finding.where or "").split("; ")
    return any(place == name or place.startswith(f"{name}, ") for place in places)
