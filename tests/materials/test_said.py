"""What makers say, as our figures, kinds and grams."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.errors import BadRequest
from firstpour.materials.amounts import grams_said
from firstpour.materials.feel import Scale, hardness_of, points_above, stiffness_of, wanted_hardness
from firstpour.materials.figures import FigureName, Origin
from firstpour.materials.material import Kind
from firstpour.materials.new_record import record_like
from firstpour.materials.said import KIND_WORDS, OTHER_NAMES, figures_said, kind_of
from firstpour.units import quantity
from shelf_samples import shipped, worked_plastic

SILICONE = shipped().get("addition-silicone-a25-middling")
FILAMENT = shipped().get("filament-rigid")
PLASTIC = worked_plastic()
"""100:90 by weight, A 1.05 g/ml and B 1.02 g/ml."""
SHORE_A, SHORE_D, SHORE_00 = FigureName.SHORE_A, FigureName.SHORE_D, FigureName.SHORE_00


@pytest.mark.parametrize(
    ("key", "text", "figure", "points"),
    [
        ("hardness", "Shore 30A", SHORE_A, 30),
        ("Shore hardness", "A 30", SHORE_A, 30),
        ("durometer", "70D", SHORE_D, 70),
        ("hardness", "Shore 00-30", SHORE_00, 30),
        ("hardness", "00 30", SHORE_00, 30),
        ("hardness", "30 Shore 00", SHORE_00, 30),
        ("hardness", "OO 30", SHORE_00, 30),
        ("shore_a", "Shore 30A", SHORE_A, 30),
        ("shore_a", "30", SHORE_A, 30),
        ("shore_00", "30", SHORE_00, 30),
    ],
)
def test_a_hardness_is_read_as_sheets_write_it(key: str, text: str, figure: FigureName, points: float) -> None:
    (said,) = figures_said({key: text}, base=SILICONE).items()
    assert (said[0], float(said[1])) == (figure, points)


@pytest.mark.parametrize(
    ("key", "text"), [("hardness", "30"), ("shore_a", "70D"), ("hardness", "firmish"), ("shore_a", "")]
)
def test_a_hardness_without_its_scale_or_on_another_is_refused(key: str, text: str) -> None:
    with pytest.raises(BadRequest) as refused:
        figures_said({key: text}, base=SILICONE)
    assert refused.value.remedy


def test_a_hardness_takes_the_place_of_one_on_another_scale() -> None:
    gel = record_like(
        SILICONE, material_id="gel", name=None, words={"hardness": "00 30"}, ratio=None, origin=Origin.DATA_SHEET
    )
    assert SHORE_A not in gel.figures
    assert str(hardness_of(gel)) == "00 30"


def test_a_gel_is_compared_with_gels_alone_and_has_no_modulus_of_a_rubber() -> None:
    """ASTM D2240 gives no conversion between its scales; common charts agree only roughly."""
    gel, rubber = wanted_hardness("Shore 00 30"), wanted_hardness("A 30")
    assert gel.scale is Scale.GEL
    assert points_above(gel, wanted_hardness("00 25")) == 5
    assert points_above(gel, rubber) is points_above(rubber, gel) is None
    assert stiffness_of(gel) is None


def test_specific_gravity_is_that_of_both_parts_unless_a_part_has_its_own() -> None:
    assert figures_said({"specific gravity": "1.18"}, base=SILICONE) == {
        FigureName.DENSITY_A: "1.18",
        FigureName.DENSITY_B: "1.18",
    }
    assert figures_said({"density_b": "1.02", "SG": "1.1"}, base=SILICONE)[FigureName.DENSITY_B] == "1.02"
    assert figures_said({"specific gravity": "1.24"}, base=FILAMENT) == {FigureName.DENSITY: "1.24"}


def test_names_of_data_sheets_are_known_and_others_get_the_nearest() -> None:
    said = figures_said({"Working time": "20 min", "cure time": "4 h", "tear strength": "100 pli"}, base=SILICONE)
    assert list(said) == [FigureName.POT_LIFE, FigureName.DEMOULD, FigureName.TEAR]
    with pytest.raises(BadRequest) as refused:
        figures_said({"workng time": "3"}, base=SILICONE)
    assert "working time" in refused.value.remedy


def test_no_word_of_a_maker_hides_one_of_ours() -> None:
    assert not set(OTHER_NAMES) & {name.value.replace("_", " ") for name in FigureName}
    for kind in Kind:
        assert kind_of(kind.value) is kind
    for word, kind in KIND_WORDS.items():
        assert kind_of(word.title()) is kind
    with pytest.raises(BadRequest) as refused:
        kind_of("platnum cure")
    assert "platinum cure" in refused.value.remedy


def test_units_of_data_sheets_are_those_of_the_handbook() -> None:
    """NIST SP 811 (2008), appendix B.8: lbf/in 1.751268 E+02 N/m, US gallon 3.785412 E-03 m³, US fluid ounce
    2.957353 E-05 m³, Canadian and UK gallon 4.54609 E-03 m³, psi 6.894757 E+03 Pa, cP 1.0 E-03 Pa·s."""
    assert quantity("1 pli", to="N/mm") == pytest.approx(0.1751268, abs=5e-8)
    assert quantity("1 US gal", to="ml") == pytest.approx(3785.412, abs=5e-4)
    assert quantity("1 US fl oz", to="ml") == pytest.approx(29.57353, abs=5e-6)
    assert quantity("1 imp gal", to="ml") == 4546.09
    assert quantity("1 psi", to="Pa") == pytest.approx(6894.757, abs=5e-4)
    assert quantity("1 cps", to="Pa s") == 1e-3


@pytest.mark.parametrize(
    ("text", "a_g", "b_g"),
    [
        ("450 g + 405 g", 450, 405),
        ("1 l + 500 ml", 1050, 510),
        ("1 kg + 100 ml", 1000, 102),
        ("1.9 kg", 1000, 900),
        ("1.9 kg kit", 1000, 900),
        ("2 x 950 g kits", 1000, 900),
        ("2 x 5 kg cans + 2x4.5 kg cans", 10_000, 9_000),
        ("500 + 450", 500, 450),
    ],
)
def test_packs_are_read_as_they_are_sold(text: str, a_g: float, b_g: float) -> None:
    """Recomputed from 100:90 by weight, 1.05 and 1.02 g/ml."""
    grams = grams_said(text, PLASTIC)
    assert (grams.a_g, grams.b_g) == (pytest.approx(a_g), pytest.approx(b_g))


@given(st.floats(1, 10_000))
def test_a_kit_by_volume_holds_that_volume_at_the_ratio(volume_ml: float) -> None:
    grams = grams_said(f"{volume_ml!r} ml kit", PLASTIC)
    assert grams.a_g / 1.05 + grams.b_g / 1.02 == pytest.approx(volume_ml)
    assert grams.b_g == pytest.approx(0.9 * grams.a_g)


@pytest.mark.parametrize(
    "text", ["soon", "-1 kg", "1 gal", "1 kg + 1 kg + 1 kg", "", "1 kg +", "1e999 kg", "5 stone"]
)
def test_what_is_no_amount_is_refused(text: str) -> None:
    with pytest.raises(BadRequest) as refused:
        grams_said(text, PLASTIC)
    assert refused.value.remedy


def test_a_single_material_has_no_part_b_and_a_volume_needs_its_density() -> None:
    assert grams_said("1 kg spool", FILAMENT).a_g == 1000
    with pytest.raises(BadRequest, match="for Rigid"):
        grams_said("1 kg + 1 kg", FILAMENT)
    bare = shipped().get("sulphur-clay")
    if FigureName.DENSITY not in bare.figures:
        with pytest.raises(BadRequest, match="density"):
            grams_said("1 l", bare)
