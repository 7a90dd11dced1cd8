"""The plan of the tide pool, read as a maker reads it: it is what it was, and nowhere says two things of one."""

import json
from collections import defaultdict
from itertools import pairwise

import numpy as np
import pytest

from demo_plan import GOLDEN, differences, rounded_plan
from firstpour.demo.tide_pool import tide_pool_job
from firstpour.formulas.shrinkage import scale_for_chain

PARTS = [part.name for part in tide_pool_job().parts]
REMEDY = "If it is meant: python tools/write_golden.py"


@pytest.fixture(scope="module")
def plan(demo):
    return demo.entry.model_dump(mode="json")


@pytest.fixture(params=PARTS)
def part(plan, request):
    return next(one for one in plan["parts"] if one["name"] == request.param)


def tables_with(value, key):
    """Every table below that has the key."""
    if isinstance(value, dict):
        if key in value:
            yield value
        value = list(value.values())
    if isinstance(value, list):
        for entry in value:
            yield from tables_with(entry, key)


def test_the_plan_is_the_golden_one(plan):
    was = json.loads(GOLDEN.read_text(encoding="utf-8"))
    found = list(differences(was, rounded_plan(plan)))
    assert not found, "\n".join([f"{len(found)} differences. {REMEDY}", *found[:60]])


def test_a_difference_is_told_where_it_is_and_dust_is_none():
    was = {"parts": [{"name": "star", "scale": 0.00204, "size_mm": [10.0, 20.0], "what": "about 12.3 ml"}]}
    assert list(differences(was, json.loads(json.dumps(was)))) == []
    dust = {"parts": [{"name": "star", "scale": 0.00205, "size_mm": [10.004, 20.1], "what": "about 12.4 ml"}]}
    assert list(differences(was, dust)) == []
    other = {"parts": [{"name": "star", "scale": 0.0035, "size_mm": [11.0, 20.0], "what": "about 123 ml"}]}
    assert list(differences(was, other)) == [
        "plan / parts / star / scale: 0.00204 → 0.0035",
        "plan / parts / star / size_mm / 0: 10.0 → 11.0",
        "plan / parts / star / what: about 12.3 ml → about 123 ml",
    ]
    assert next(iter(differences(was, {"parts": []}))).endswith("→ —")


def test_the_best_of_the_ranked_draws_is_told_as_the_draw_taken(part):
    best, taken = part["draw"]["directions"][0], part["chosen_draw"]
    assert best["regions"] is not None
    if part["mould"]["kind"] != "open-face" and best["direction"] == taken["direction"]:
        assert best == taken
    assert any(one["regions"] is None for one in part["draw"]["directions"][1:])


def test_every_part_of_the_job_is_planned(plan):
    assert [one["name"] for one in plan["parts"]] == PARTS


def test_no_step_waits_for_two_times(part):
    waits = defaultdict(set)
    for step in tables_with(part, "wait_min"):
        waits[step["id"]].add((step["wait_low_min"], step["wait_min"], step["wait_high_min"]))
        assert step["wait_low_min"] <= step["wait_min"] <= step["wait_high_min"]
        assert step["hands_low_min"] <= step["hands_min"] <= step["hands_high_min"]
    assert waits
    assert {step: found for step, found in waits.items() if len(found) > 1} == {}


def test_no_pour_fits_that_never_passes_the_gate(part):
    flow, casting = part["flow"], part["materials"]["casting"]
    if flow is None or casting is None:
        pytest.skip("nothing is poured through a gate")
    assert flow["fits"] == (flow["fill_s"] is not None and flow["fill_s"] <= flow["time_left_s"])
    at_room = [pour for pour in casting["pours"] if pour["temperature_c"] == casting["mixes"][0]["temperature_c"]]
    assert at_room
    for pour in at_room:
        assert flow["fits"] or not pour["fits"] or pour["chance"] < 1.0
        if flow["fill_s"] is not None:
            (poured,) = (step for step in pour["steps"] if step["name"] == "pour")
            assert poured["mean_min"] >= flow["fill_s"] / 60.0


def test_the_mould_is_as_much_larger_as_its_materials_shrink(part):
    shrinks = [
        part["materials"][use]["mixes"][0]["shrinkage_ratio"]
        for use in ("silicone", "casting")
        if part["materials"][use] is not None
    ]
    if len(shrinks) == 2:
        assert part["mould"]["scale"] == pytest.approx(scale_for_chain(shrinks), abs=1e-6)
    assert part["allowance"]["scale"] == pytest.approx([part["mould"]["scale"]] * 3)
    assert 1.0 <= part["mould"]["scale"] < 1.05


def test_what_is_weighed_is_what_is_poured_and_lost(part):
    for mix in tables_with(part["materials"], "total_g"):
        weighed_g = mix["part_a_g"] + mix["part_b_g"] + sum(mix["additives_g"].values())
        assert weighed_g == pytest.approx(mix["total_g"], rel=1e-6)
        assert mix["total_g"] / mix["density_g_ml"] == pytest.approx(
            mix["volume_ml"] * mix["cavities"] + mix["loss_ml"], rel=0.05
        )


def test_the_silicone_mixed_for_a_piece_is_the_volume_of_the_piece(part):
    silicone = part["materials"]["silicone"]
    if silicone is None:
        pytest.skip("no silicone was found for it")
    pieces_ml = {
        one["name"]: one["volume_mm3"] / 1000 for one in part["mould"]["pieces"] if one["role"] == "silicone"
    }
    assert {mix["what"]: mix["volume_ml"] for mix in silicone["mixes"]} == pytest.approx(pieces_ml)
    assert sum(pieces_ml.values()) == pytest.approx(part["mould"]["silicone_ml"])


def test_volumes_walls_and_sizes_are_of_one_part(part):
    measure, mould = part["measure"], part["mould"]
    part_ml = measure["volume_mm3"] / 1000
    assert part_ml < np.prod(measure["size_mm"]) / 1000
    assert part_ml <= mould["casting_ml"] < 1.5 * part_ml
    assert 0.0 < measure["thinnest_wall_mm"] <= min(measure["size_mm"])
    if part["flow"] is not None:
        assert part["flow"]["volume_ml"] == pytest.approx(part_ml)
    for piece in mould["pieces"]:
        assert piece["watertight"]
        assert piece["volume_mm3"] <= np.prod(piece["size_mm"]) * (1 + 1e-6)


def test_the_time_goes_on_from_print_to_last_copy(part):
    spent = part["elapsed"]
    assert spent["prints_min"] == pytest.approx(sum(one["print_min"] for one in part["prints"]))
    moments = [spent[key] for key in ("prints_min", "mould_min", "first_copy_min", "all_copies_min")]
    known = [moment for moment in moments if moment is not None]
    assert all(a <= b for a, b in pairwise(known))
    assert part["materials"]["casting"] is None or len(known) == 4 or part["materials"]["silicone"] is None


def test_the_gate_of_the_fill_is_the_gate_of_the_mould(part):
    if part["fill"] is None:
        pytest.skip("open where it is poured")
    openings = [(one["use"], one["radius_start_mm"]) for one in part["mould"]["channels"]]
    planned = [(one["use"], one["radius_start_mm"]) for one in part["fill"]["channels"]]
    assert openings == planned
    assert part["fill"]["trapped_vented_mm3"] <= part["fill"]["trapped_mm3"] + 1e-9


def test_the_whole_is_the_sum_of_its_parts(plan):
    parts, totals = plan["parts"], plan["totals"]
    assert totals["silicone_ml"] == pytest.approx(sum(one["mould"]["silicone_ml"] for one in parts))
    assert totals["casting_ml"] == pytest.approx(sum(one["mould"]["casting_ml"] * one["copies"] for one in parts))
    assert totals["print_ml"] == pytest.approx(sum(each["material_ml"] for one in parts for each in one["prints"]))
    order = {"error": 0, "warning": 1, "info": 2}
    ranks = [order[finding["severity"]] for finding in plan["findings"]]
    assert ranks == sorted(ranks)
