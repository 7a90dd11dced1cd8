"""Material files: what is read, what is refused, and the published schema."""

import tomllib
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.errors import BadRequest, UnknownMaterial
from firstpour.files.catalogue import load_catalogue, save_record, shipped_materials
from firstpour.files.material_record import MaterialFile
from firstpour.files.material_toml import material_text, read_material
from firstpour.files.schemas import WRITTEN, schema_of, schema_texts
from firstpour.materials.figures import FIGURES, Figure, FigureName, Origin
from firstpour.materials.material import MIXED_KINDS, Kind, Material
from firstpour.mixing.mix import mix_density_g_ml
from shelf_samples import MODEST, PLASTIC_TEXT, shipped, worked_plastic

ROOT = Path(__file__).parents[2]
SHIPPED = shipped_materials()


def refused(text: str) -> BadRequest:
    with pytest.raises(BadRequest) as caught:
        read_material(text, source="x.toml")
    assert caught.value.remedy
    return caught.value


@pytest.mark.parametrize("name", WRITTEN)
def test_the_published_schema_is_current(name: str) -> None:
    """Renew it with: python tools/publish.py."""
    assert (ROOT / "docs" / name).read_text(encoding="utf-8") == schema_texts()[name]


def test_every_shipped_file_passes_the_schema() -> None:
    folder = files("firstpour.materials") / "data" / "materials"
    validator = jsonschema.Draft202012Validator(schema_of(MaterialFile))
    tables = [tomllib.loads(entry.read_text()) for entry in folder.iterdir() if entry.name.endswith(".toml")]
    assert len(tables) == len(SHIPPED) > 35
    for table in tables:
        validator.validate(table)


def test_the_schema_refuses_what_the_reader_refuses() -> None:
    table = tomllib.loads(PLASTIC_TEXT.replace('unit = "min", temperature_c = 23, origin', 'unit = "weeks", origin'))
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(table, schema_of(MaterialFile))


@pytest.mark.parametrize("material", SHIPPED, ids=lambda m: m.id)
def test_a_shipped_material_is_typical_and_survives_writing_and_reading(material: Material) -> None:
    assert {figure.origin for figure in material.figures.values()} == {Origin.TYPICAL}
    assert read_material(material_text(material), source=material.id) == replace(material, shipped=False)


def test_every_kind_is_on_the_shelf_and_its_helpers_exist() -> None:
    catalogue = shipped()
    assert {material.kind for material in SHIPPED} == set(Kind)
    for material in SHIPPED:
        for helper in filter(None, (material.accelerator, material.colourant, material.softener)):
            assert {material.id, *material.traits} & set(catalogue.get(helper).works_in)


@pytest.mark.parametrize(
    ("words", "means"),
    [
        ("tin cure", "condensation-silicone"),
        ("platinum-cure", "addition-silicone"),
        ("pigment", "colourant"),
        ("polyurethane resin", "flexible-rubber"),
    ],
)
def test_words_of_the_trade_lead_to_our_materials(words: str, means: str) -> None:
    with pytest.raises(UnknownMaterial) as caught:
        shipped().get(words)
    assert means in caught.value.remedy


@pytest.mark.parametrize(
    "material", [m for m in SHIPPED if m.kind in (Kind.FILAMENT, Kind.PHOTOPOLYMER)], ids=lambda m: m.id
)
def test_what_is_printed_is_the_middle_of_its_class_too(material: Material) -> None:
    hardness = [
        material.figures[name] for name in (FigureName.SHORE_A, FigureName.SHORE_D) if name in material.figures
    ]
    for figure in (*hardness, material.figures[FigureName.SHRINKAGE]):
        assert figure.lowest < figure.value < figure.highest
    assert hardness[0].value % 5 == 0


TRADE = [
    ("addition-silicone-a20-fast", 6, 30),
    ("addition-silicone-a20-slow", 50, 240),
    ("condensation-silicone-a25-slow", 40, 1440),
    ("flexible-rubber-a30-slow", 30, 960),
    ("rigid-plastic-d75-middling", 7, 30),
]
"""Pot life and demould time in min of five materials as the trade knows them: common practice, no source."""


@pytest.mark.parametrize(("material_id", "pot_life_min", "demould_min"), TRADE)
def test_the_range_of_a_class_holds_what_the_trade_knows(
    material_id: str, pot_life_min: float, demould_min: float
) -> None:
    figures = shipped().get(material_id).figures
    pot_life, demould = figures[FigureName.POT_LIFE], figures[FigureName.DEMOULD]
    assert pot_life.lowest <= pot_life_min <= pot_life.highest
    assert demould.lowest <= demould_min <= demould.highest


@pytest.mark.parametrize("material", [m for m in SHIPPED if m.kind in MIXED_KINDS], ids=lambda m: m.id)
def test_a_shipped_record_is_the_middle_of_a_class_and_no_data_sheet(material: Material) -> None:
    """Round figures with a real range; and never the pot life and demould time of a known material together."""
    figures = material.figures
    ranged = [FigureName.POT_LIFE, FigureName.DEMOULD, FigureName.VISCOSITY, FigureName.SHRINKAGE]
    ranged += [name for name in (FigureName.SHORE_A, FigureName.SHORE_D) if name in figures]
    for name in ranged:
        assert figures[name].lowest < figures[name].highest
        assert figures[name].lowest <= figures[name].value <= figures[name].highest
    assert figures[FigureName.POT_LIFE].highest >= 1.4 * figures[FigureName.POT_LIFE].lowest
    hardness = figures[ranged[-1]]
    assert hardness.value % 5 == 0
    times = (figures[FigureName.POT_LIFE].value, figures[FigureName.DEMOULD].value)
    assert times not in {(pot_life_min, demould_min) for _, pot_life_min, demould_min in TRADE}


@pytest.mark.parametrize("material", [m for m in SHIPPED if "urethane" in m.traits], ids=lambda m: m.id)
def test_densities_and_both_ratios_of_the_urethanes_agree_with_each_other_and_the_trade(material: Material) -> None:
    """By volume 1:1 or 2:1; rigid plastics by weight 100:90; mixed 1.0 to 1.1 g/ml, the isocyanate side the denser.

    Common practice, no source.
    """
    assert material.ratio is not None
    by_weight, by_volume = material.ratio.b_per_100_a, material.ratio.by_volume_b_per_100_a
    densities = [material.figures[name].value for name in (FigureName.DENSITY_A, FigureName.DENSITY_B)]
    assert by_volume in (100.0, 50.0)
    assert by_weight == pytest.approx(by_volume * densities[1] / densities[0], rel=0.01)
    assert densities[0] >= densities[1]
    assert 1.0 <= mix_density_g_ml(material) <= 1.1
    if material.kind is Kind.RIGID_CASTING and "clear" not in material.traits:
        assert by_weight == 90.0


def test_units_are_turned_into_ours() -> None:
    text = PLASTIC_TEXT.replace('{ value = 7, unit = "min"', '{ value = 420, unit = "s"')
    text = text.replace('density_a = { value = 1.05, unit = "g/ml"', 'density_a = { value = 1050, unit = "kg/m3"')
    assert read_material(text, source="x") == worked_plastic()


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("100, b = 90", "100, b = -90", "ratio 1, b is -90"),
        ("100, b = 90", "0, b = 90", "ratio 1, a is 0"),
        ('ratio = [{ a = 100, b = 90, by = "weight" }]', "", "mix ratio is missing"),
        ('by = "weight"', 'by = "eye"', "by is 'eye'"),
        ("value = 1.05", "value = 0", "density of part A is 0"),
        ("value = 1.05", "value = nan", "density_a, value is nan"),
        ("value = 1.05", 'value = "1.05"', "value"),
        ('unit = "g/ml"', 'unit = "stone"', "stone"),
        ("temperature_c = 23, mass_g", "mass_g", "pot_life, temperature_c is missing"),
        ("temperature_c = 23, mass_g", "temperature_c = 900, mass_g", "900"),
        ("value = 30,", "value = 3,", "demould"),
        ('kind = "rigid casting plastic"', 'kind = "cheese"', "kind is 'cheese'"),
        ('origin = "data sheet"', 'origin = "hearsay"', "hearsay"),
        ('id = "worked-plastic"', 'id = "../escape"', "id is '../escape'"),
        ("pot_life =", "potlife =", "potlife"),
        ("shore_d = { value = 70", "shore_d = { value = 170", "170"),
        ("[figures]", "[figures", "TOML"),
        ("shore_d = {", "viscosity = {", "unit"),
    ],
)
def test_a_record_that_cannot_be_meant_is_refused(old: str, new: str, says: str) -> None:
    assert old in PLASTIC_TEXT
    assert says in refused(PLASTIC_TEXT.replace(old, new)).problem


def test_a_figure_may_carry_its_range_in_the_unit_of_its_value() -> None:
    old = 'pot_life = { value = 7, unit = "min"'
    ranged = read_material(
        PLASTIC_TEXT.replace(old, 'pot_life = { value = 420, low = 300, high = 540, unit = "s"'), source="x"
    )
    pot_life = ranged.figures[FigureName.POT_LIFE]
    assert (pot_life.lowest, pot_life.value, pot_life.highest) == (5.0, 7.0, 9.0)
    assert read_material(material_text(ranged), source="x") == ranged
    alone = ranged.figures[FigureName.DEMOULD]
    assert (alone.lowest, alone.value, alone.highest) == (30.0, 30.0, 30.0)


@pytest.mark.parametrize("wrong", ["low = 8", "high = 6", "low = 0.1", "high = 700", "high = nan", 'low = "six"'])
def test_a_range_that_does_not_hold_its_value_or_makes_no_sense_is_refused(wrong: str) -> None:
    old = "pot_life = { value = 7,"
    assert refused(PLASTIC_TEXT.replace(old, f"{old} {wrong},"))


def test_a_ratio_given_both_ways_that_disagrees_is_refused_and_one_that_agrees_is_not() -> None:
    """100:90 by weight is 100:92.65 by volume at 1.05 and 1.02 g/ml."""
    both = '[{{ a = 100, b = 90, by = "weight" }}, {{ a = 100, b = {}, by = "volume" }}]'
    old = '[{ a = 100, b = 90, by = "weight" }]'
    assert "by volume" in refused(PLASTIC_TEXT.replace(old, both.format(100))).problem
    agreed = read_material(PLASTIC_TEXT.replace(old, both.format(93)), source="x")
    assert agreed.ratio is not None
    assert agreed.ratio.b_per_100_a == 90


def test_a_ratio_by_volume_alone_becomes_one_by_weight() -> None:
    """Recomputed: 1:1 by volume at 1.05 and 1.02 g/ml is 100:97.143 by weight."""
    material = read_material(PLASTIC_TEXT.replace('b = 90, by = "weight"', 'b = 100, by = "volume"'), source="x")
    assert material.ratio is not None
    assert material.ratio.b_per_100_a == pytest.approx(97.143, abs=5e-4)


def test_an_accelerator_that_slows_and_doses_out_of_order_are_refused() -> None:
    text = material_text(shipped().get("urethane-accelerator"))
    assert "do not rise" in refused(text.replace("dose = 0.01\n", "dose = 0.001\n")).problem
    assert "lengthens" in refused(text.replace("pot_life_ratio = 0.5\n", "pot_life_ratio = 0.9\n")).problem


def test_an_unknown_material_names_the_nearest() -> None:
    with pytest.raises(UnknownMaterial) as caught:
        shipped().get("adition-silicone-a20-fast")
    assert "addition-silicone-a20-fast" in caught.value.remedy


def test_a_record_of_ones_own_stands_before_the_shipped_one_and_is_not_overwritten(tmp_path: Path) -> None:
    own = replace(shipped().get("addition-silicone-a20-fast"), name="Mine", shipped=False)
    save_record(tmp_path, own, replacing=False)
    assert load_catalogue(tmp_path).get(own.id).name == "Mine"
    with pytest.raises(BadRequest, match="already"):
        save_record(tmp_path, own, replacing=False)
    save_record(tmp_path, replace(own, name="Mine, renewed"), replacing=True)
    assert load_catalogue(tmp_path).get(own.id).name == "Mine, renewed"
    assert [path.name for path in (tmp_path / "materials").iterdir()] == [f"{own.id}.toml"]


def test_a_broken_record_names_its_file(tmp_path: Path) -> None:
    (tmp_path / "materials").mkdir()
    (tmp_path / "materials" / "mine.toml").write_bytes(b"\xff\xfe")
    with pytest.raises(BadRequest, match=r"mine\.toml"):
        load_catalogue(tmp_path)
    (tmp_path / "materials" / "mine.toml").write_text(PLASTIC_TEXT)
    with pytest.raises(BadRequest, match="holds the id"):
        load_catalogue(tmp_path)


def test_every_figure_has_a_range_and_every_mixed_kind_can_be_mixed() -> None:
    assert set(FIGURES) == set(FigureName)
    assert all(spec.low < spec.high for spec in FIGURES.values())
    assert all(material.ratio is not None for material in SHIPPED if material.kind in MIXED_KINDS)


@MODEST
@given(
    name=st.text(min_size=1, max_size=60).filter(str.isprintable),
    note=st.text(max_size=60).filter(str.isprintable),
    traits=st.frozensets(st.text(min_size=1, max_size=9).filter(str.isprintable), max_size=3),
    value=st.floats(0.5, 3.0),
)
def test_any_words_and_figures_survive_writing_and_reading(
    name: str, note: str, traits: frozenset[str], value: float
) -> None:
    figures = {FigureName.DENSITY: Figure(value=value, origin=Origin.MEASURED, low=0.4, high=3.5)}
    material = Material(id="a", name=name, kind=Kind.CLAY, figures=figures, note=note, traits=traits)
    assert read_material(material_text(material), source="x") == material
