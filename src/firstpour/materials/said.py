"""What makers and data sheets say, as our figures and kinds: specific gravity, Shore 30A, platinum cure."""

from collections.abc import Mapping
from difflib import get_close_matches

from firstpour.errors import BadRequest
from firstpour.materials.feel import Scale, wanted_hardness
from firstpour.materials.figures import FigureName
from firstpour.materials.material import MIXED_KINDS, Kind, Material

_N = FigureName
SHORE = {Scale.A: _N.SHORE_A, Scale.D: _N.SHORE_D, Scale.GEL: _N.SHORE_00}
"""The figure of each scale of the durometer."""

WEIGHTS = ("specific gravity", "sg", "density", "mixed density")
"""One figure for both parts of a material that is mixed, where the sheet gives no more."""
HARDNESSES = ("hardness", "shore", "shore hardness", "durometer")
OTHER_NAMES: Mapping[str, FigureName] = {
    "specific gravity a": _N.DENSITY_A,
    "specific gravity b": _N.DENSITY_B,
    "mixed viscosity": _N.VISCOSITY,
    "working time": _N.POT_LIFE,
    "work time": _N.POT_LIFE,
    "gel time": _N.POT_LIFE,
    "cure time": _N.DEMOULD,
    "demold": _N.DEMOULD,
    "demold time": _N.DEMOULD,
    "demould time": _N.DEMOULD,
    "linear shrinkage": _N.SHRINKAGE,
    "elongation at break": _N.ELONGATION,
    "tensile strength": _N.TENSILE,
    "tear strength": _N.TEAR,
    "shelf life": _N.KEEPS_UNOPENED,
}
"""Names on data sheets for figures that we call otherwise (common practice, no source)."""

KIND_WORDS: Mapping[str, Kind] = {
    "platinum cure": Kind.ADDITION_SILICONE,
    "platinum silicone": Kind.ADDITION_SILICONE,
    "addition cure": Kind.ADDITION_SILICONE,
    "tin cure": Kind.CONDENSATION_SILICONE,
    "tin silicone": Kind.CONDENSATION_SILICONE,
    "condensation cure": Kind.CONDENSATION_SILICONE,
    "urethane rubber": Kind.FLEXIBLE_CASTING,
    "urethane plastic": Kind.RIGID_CASTING,
    "urethane resin": Kind.RIGID_CASTING,
    "casting resin": Kind.RIGID_CASTING,
    "vat resin": Kind.PHOTOPOLYMER,
    "pigment": Kind.COLOURANT,
    "tint": Kind.COLOURANT,
    "thinner": Kind.SOFTENER,
    "mould release": Kind.RELEASE,
    "modelling clay": Kind.CLAY,
}
"""What makers call the kinds (common practice, no source)."""


def figures_said(words: Mapping[str, str], *, base: Material) -> dict[FigureName, str]:
    """Each figure that key → text means for a material like `base`; what names a part goes before what means both.

    Raises
    ------
    BadRequest
        If a key is none that we know, or a hardness says no scale.
    """
    figures: dict[FigureName, str] = {}
    given: dict[FigureName, str] = {}
    for key, text in words.items():
        plain = " ".join(key.lower().replace("_", " ").split())
        if plain in WEIGHTS and base.kind in MIXED_KINDS:
            figures |= {_N.DENSITY_A: text, _N.DENSITY_B: text}
        elif plain in WEIGHTS:
            given[_N.DENSITY] = text
        elif plain in HARDNESSES or plain.startswith("shore "):
            name, points = _hardness(plain, text)
            given[name] = points
        else:
            given[figure_name_of(key)] = text
    return figures | given


def _hardness(key: str, text: str) -> tuple[FigureName, str]:
    """The scale's figure and its points; a bare number is on the scale that the key names."""
    scale = next((one for one in Scale if key == f"shore {one.value.lower()}"), None)
    try:
        float(text)
    except ValueError:
        said = wanted_hardness(text)
        if scale not in (None, said.scale):
            raise BadRequest(
                f"“{text}” is no hardness {key.title()}.", remedy=f"Set {SHORE[said.scale].value} to it instead."
            ) from None
        return SHORE[said.scale], f"{said.points:g}"
    if scale is None:
        raise BadRequest(
            f"a hardness of “{text}” says no scale.", remedy=f"Write “{text}A”, “{text}D” or “00 {text}” (gels)."
        )
    return SHORE[scale], text


def figure_name_of(key: str) -> FigureName:
    """The figure of that key, or of a data sheet's name for it.

    Raises
    ------
    BadRequest
        If there is none; the remedy names the nearest.

    >>> figure_name_of("pot_life"), figure_name_of("Working time")
    (<FigureName.POT_LIFE: 'pot_life'>, <FigureName.POT_LIFE: 'pot_life'>)
    """
    plain = " ".join(key.lower().replace("_", " ").split())
    known = {name.value.replace("_", " "): name for name in FigureName} | dict(OTHER_NAMES)
    if plain not in known:
        close = get_close_matches(plain, [*known, *WEIGHTS, *HARDNESSES], n=1)
        asked = {name.replace("_", " "): name.value for name in FigureName}
        hint = f"Did you mean {asked.get(close[0], close[0])}?" if close else f"Use one of: {', '.join(FigureName)}."
        raise BadRequest(f"no figure is called “{key}”.", remedy=hint)
    return known[plain]


def kind_of(word: str) -> Kind:
    """The kind that a word means: ours, or what makers call it.

    Raises
    ------
    BadRequest
        If it is none.

    >>> kind_of("platinum cure"), kind_of("Pigment")
    (<Kind.ADDITION_SILICONE: 'addition-cure silicone'>, <Kind.COLOURANT: 'colourant'>)
    """
    plain = " ".join(word.lower().replace("-", " ").split())
    known = {kind.value.replace("-", " "): kind for kind in Kind} | dict(KIND_WORDS)
    if plain in known:
        return known[plain]
    close = get_close_matches(plain, known, n=1)
    hint = f"Did you mean {close[0]}? " if close else ""
    raise BadRequest(f"no kind is called “{word}”.", remedy=f"{hint}Use one of: {', '.join(Kind)}.")
