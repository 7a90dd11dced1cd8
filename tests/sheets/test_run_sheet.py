import re
from math import ceil, floor
from pathlib import Path

import pytest

from firstpour.files.material_entries import BatchEntry, PlannedMixEntry
from firstpour.files.plan_json import PartEntry, PlanEntry
from firstpour.materials.cautions import _cautions
from firstpour.parting.values import MouldKind
from firstpour.results import SavedPlan
from firstpour.sheets.blocks import Beside, Block, Cautions, Key, Page, Single, Table, Ticks
from firstpour.sheets.placed import CAUTIONS, FINDINGS, UNKNOWN_CAUTIONS
from firstpour.sheets.run_sheet import part_pages, run_sheet
from firstpour.sheets.words import wait_words


@pytest.fixture(scope="module")
def plan(demo: SavedPlan) -> PlanEntry:
    return demo.entry


def singles(page: Page) -> list[Single]:
    def apart(block: Block) -> tuple[Single, ...]:
        return (*block.left, *block.right) if isinstance(block, Beside) else (block,)

    return [one for block in page.blocks for one in apart(block)]


def of(page: Page, kind: type, title: str = "") -> list:
    return [one for one in singles(page) if isinstance(one, kind) and title in getattr(one, "title", "")]


def all_words(page: Page) -> str:
    return repr(page)


def named(plan: PlanEntry, name: str) -> PartEntry:
    return next(part for part in plan.parts if part.name == name)


def test_each_silicone_and_each_cast_has_a_page_of_its_own_in_the_order_of_the_work(plan):
    for part in plan.parts:
        titles = [page.title for page in part_pages(plan, part)]
        assert titles == [
            f"{part.name}: make ready",
            f"{part.name}: silicone, upper half",
            f"{part.name}: silicone, lower half",
            f"{part.name}: cast",
            f"{part.name}: open, trim, log",
        ]


def test_the_grams_of_each_page_are_those_of_plan_json(plan):
    for part in plan.parts:
        mixes = [*part.materials.silicone.mixes, *part.materials.casting.mixes]
        for page, mix in zip(part_pages(plan, part)[1:-1], mixes, strict=True):
            (table,) = of(page, Table, "Weigh")
            shown = [float(row[1].removesuffix(" g")) for row in table.rows]
            assert shown == [mix.batch.weigh_a_g, mix.batch.weigh_b_g]


def test_b_stays_within_its_tolerance_at_both_ends_of_what_the_page_allows(plan):
    for part in plan.parts:
        for page, mix in zip(part_pages(plan, part)[1:3], part.materials.silicone.mixes, strict=True):
            (table,) = of(page, Table, "Weigh")
            low, high = (float(one) for one in re.findall(r"[\d.]+", table.rows[1][2]))
            off = mix.batch.weigh_b_g * mix.ratio_tolerance_ratio
            assert mix.batch.weigh_b_g - off - 1e-9 <= low < mix.batch.weigh_b_g
            assert mix.batch.weigh_b_g < high <= mix.batch.weigh_b_g + off + 1e-9


def test_the_minute_to_be_poured_by_is_never_later_than_nineteen_of_twenty_mixes_last(plan):
    for part in plan.parts:
        mixes = [*part.materials.silicone.mixes, *part.materials.casting.mixes]
        for page, mix in zip(part_pages(plan, part)[1:-1], mixes, strict=True):
            assert f"POURED BY MINUTE {floor(mix.pot_life_low_min)}" in [key.text for key in of(page, Key)]


def test_the_cure_is_the_demould_time_of_plan_json_rounded_up(plan):
    for part in plan.parts:
        *silicones, cast = part_pages(plan, part)[1:-1]
        for page, chosen in [*((one, part.materials.silicone) for one in silicones), (cast, part.materials.casting)]:
            (cure,) = [key for key in of(page, Key) if key.text.startswith("CURES")]
            assert cure.text == f"CURES {wait_words(chosen.demould_min)}"
            assert "Not opened before ____" in cure.write


def test_the_last_minute_on_the_clock_is_the_work_of_plan_json(plan):
    for part in plan.parts:
        cast = part_pages(plan, part)[3]
        (table,) = of(cast, Table, "clock")
        mix = part.materials.casting.mixes[0]
        pour = next(one for one in part.materials.casting.pours if one.temperature_c == mix.temperature_c)
        assert float(table.rows[-1][3].split(" to ")[1]) == pytest.approx(pour.work_min, abs=0.26)


def test_level_and_volume_of_each_silicone_are_those_of_its_pose(plan):
    for part in plan.parts:
        for page, pose in zip(part_pages(plan, part)[1:3], part.mould.poses, strict=True):
            (stand,) = of(page, Ticks, "Stand it")
            assert f"{pose.level_mm:.1f} mm" in stand.items[-1]
            assert f"{pose.volume_mm3 / 1000:.0f} ml" in stand.items[-1]


def test_cautions_come_first_and_each_stands_at_its_step(plan):
    cast = part_pages(plan, named(plan, "sea star"))[3]
    first = cast.blocks[0]
    assert isinstance(first, Cautions)
    assert first.items[0] == "The data sheet, your local rules and licensed practice come first."
    assert any("isocyanates" in one for one in first.items)
    silicone = part_pages(plan, named(plan, "sea star"))[1]
    assert "isocyanates" not in all_words(silicone)


def test_no_caution_of_the_plan_is_left_out_of_the_first_page_or_of_its_part(plan):
    sheet = run_sheet(plan)
    for part in plan.parts:
        own = "".join(all_words(page) for page in part_pages(plan, part))
        for caution in part.materials.cautions:
            assert caution.text in all_words(sheet.pages[0])
            assert repr(caution.text)[1:-1] in own, (part.name, caution.id)


def test_every_caution_that_has_a_moment_is_one_of_the_table():
    assert set(CAUTIONS) <= {one.id for one in _cautions()}


def test_every_finding_that_has_a_moment_is_one_that_is_found():
    page = (Path(__file__).parents[2] / "docs" / "findings.md").read_text(encoding="utf-8")
    assert all(f"`{code}`" in page for code in FINDINGS)


def test_an_open_face_mould_has_one_page_of_silicone_and_names_neither_gate_nor_sprue(plan):
    part = named(plan, "limpet")
    mould = part.mould.model_copy(update={"kind": MouldKind.OPEN_FACE, "poses": part.mould.poses[:1], "boards": None})
    pages = part_pages(plan, part.model_copy(update={"mould": mould, "fill": None, "flow": None}))
    assert [page.title for page in pages[1:3]] == ["limpet: silicone", "limpet: cast"]
    (pour,) = of(pages[2], Ticks, "Pour")
    assert "Stop level with the rim" in pour.items[1]
    todo = " ".join(item for page in pages[1:3] for ticks in of(page, Ticks) for item in ticks.items)
    keys = " ".join(key.note for page in pages[1:3] for key in of(page, Key))
    assert not re.search(r"\b(gate|vent|sprue)s?\b", f"{todo} {keys}")


def test_a_silicone_for_several_moulds_says_so(plan):
    part = named(plan, "limpet")
    silicone = part.materials.silicone
    mixes = [mix.model_copy(update={"times": 3}) for mix in silicone.mixes]
    materials = part.materials.model_copy(update={"silicone": silicone.model_copy(update={"mixes": mixes})})
    pages = part_pages(plan, part.model_copy(update={"materials": materials}))
    assert "for each of 3 moulds" in pages[1].under
    assert "moulds" not in part_pages(plan, part)[1].under


def test_what_is_laid_out_of_a_casting_material_is_what_the_scale_shows(plan):
    """Own arithmetic: A and B as they stand under “Weigh”, together; before rounding up it is a little less."""
    for part in plan.parts:
        casting = part.materials.casting
        mix = casting.mixes[0]
        weighed_g = [one.weigh_a_g + one.weigh_b_g + sum(one.weigh_additives_g.values()) for one in batches_of(mix)]
        words = all_words(part_pages(plan, part)[-2])
        assert f"{casting.name}: {sum(weighed_g):.1f} g in all" in words
        assert mix.total_g <= sum(weighed_g) + 1e-9


def batches_of(mix: PlannedMixEntry) -> list[BatchEntry]:
    short = [] if mix.short_batch is None else [mix.short_batch] * mix.short_batches
    return [mix.batch] * (mix.batches - mix.short_batches) + short


def test_a_loose_gate_rod_is_laid_out_for_the_half_that_it_leaves_through(plan):
    _, upper, lower, *_ = part_pages(plan, named(plan, "sea star"))
    assert "Gate-rod" not in all_words(upper)
    assert "Gate-rod" in all_words(lower)


def test_a_bedding_mould_is_turned_over_and_released_before_its_second_half(plan):
    _, upper, lower, *_ = part_pages(plan, named(plan, "porthole ring"))
    assert "Turn all over" not in all_words(upper)
    assert "Turn all over" in all_words(lower)
    assert "release over every face of cured silicone" in all_words(lower)
    assert "do not open it" in all_words(upper)


def test_the_closed_mould_stands_as_the_fill_says(plan):
    words = {part.name: all_words(part_pages(plan, part)[3]) for part in plan.parts}
    assert "lower half on top" in words["sea star"]
    assert "tilted 15°" in words["limpet"]
    assert "on edge" in words["bollard"]


def test_the_log_has_a_row_for_every_round(plan):
    for part in plan.parts:
        (log,) = of(part_pages(plan, part)[-1], Table, "Log")
        assert len(log.rows) == part.materials.rounds


def test_air_in_the_silicone_asks_for_a_brush_coat_on_the_page_of_that_half_alone(plan):
    said = plan.findings[0].model_copy(
        update={
            "code": "air-in-silicone",
            "where": "limpet, (0.0, 0.0, 0.0) mm",
            "what": "80 mm³ of air stay in one place while silicone-upper is poured",
            "remedy": "brush silicone in there first",
        }
    )
    more = plan.model_copy(update={"findings": [*plan.findings, said]})
    _, upper, lower, *_ = part_pages(more, named(more, "limpet"))
    assert "Brush coat first" in all_words(upper)
    assert "Brush coat first" not in all_words(lower)
    assert "Brush coat first" not in all_words(part_pages(more, named(more, "bollard"))[1])


def test_a_pour_that_is_too_tight_says_so_and_what_would_help(plan):
    part = named(plan, "bollard")
    casting = part.materials.casting
    changes = [{"text": "work in a room at 18 °C", "chance": 0.97}]
    tight = [
        one.model_validate(
            {**one.model_dump(), "fits": False, "problem": "the pot life is short", "changes": changes}
        )
        for one in casting.pours
    ]
    materials = part.materials.model_copy(update={"casting": casting.model_copy(update={"pours": tight})})
    cast = part_pages(plan, part.model_copy(update={"materials": materials}))[3]
    (said,) = of(cast, Cautions, "too tight")
    assert said.items[0] == "The pot life is short."
    assert said.items[-1] == "Work in a room at 18 °C."


def test_a_part_without_materials_has_its_pages_and_says_what_is_missing(plan):
    bare = named(plan, "limpet").model_copy(update={"materials": None, "flow": None})
    pages = part_pages(plan, bare)
    assert [len(of(page, Cautions, "not known")) for page in pages] == [0, 1, 1, 1, 0]
    assert all(of(page, Cautions)[0].items == UNKNOWN_CAUTIONS for page in pages[:-1])
    (table,) = of(pages[1], Table, "Weigh")
    assert {row[1:] for row in table.rows} == {("", "", "")}


def test_waits_are_never_told_shorter_than_they_are(plan):
    for part in plan.parts:
        for minutes in (part.materials.silicone.demould_min, part.materials.casting.demould_min):
            units = {"d": 1440, "h": 60, "min": 1}
            told = sum(int(n) * units[unit] for n, unit in re.findall(r"(\d+) (d|h|min)", wait_words(minutes)))
            assert told == ceil(minutes)
