"""The one table of steps: its order, its traces on a surface, and that no wait is stated anywhere else."""

import ast
import re
import tomllib
from importlib.resources import files
from itertools import pairwise, permutations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.errors import BadRequest
from firstpour.materials.compatibility import Contact, all_rules, judge
from firstpour.materials.steps import Minutes, Step, all_steps, in_order, step, still_to_do, surface_after, with_hands
from firstpour.printing.estimate import post_steps
from firstpour.printing.printers import Process
from shelf_samples import shipped

SOURCE = Path(__file__).parents[2] / "src" / "firstpour"
DATA = files("firstpour.materials") / "data"
DURATION = re.compile(
    r"\b(\d+|a|one|two|three|ten|half an?|some|several) ?(h|min|d|hours?|minutes?|days?)\b|overnight", re.IGNORECASE
)
ADDITION = frozenset({"addition-cure silicone"})


def test_the_order_of_the_trade_holds_however_the_steps_come() -> None:
    """Wash, post-cure, sand, prime, dry, seal, dry, test patch, release: common practice, no source."""
    trade = ["wash", "post-cure", "sand", "prime", "dry-primer", "seal", "dry-sealer", "test-patch", "release-print"]
    for mixed in permutations(trade, 4):
        found = [one.id for one in in_order(step(name) for name in mixed)]
        assert found == sorted(mixed, key=trade.index)


def test_only_one_table_states_minutes() -> None:
    """No other data file and no code gives hands or waits as figures."""
    for path in sorted(Path(str(DATA)).rglob("*.toml")):
        keys = set(re.findall(r"^(\w*(?:wait|hands)\w*) *=", path.read_text(), re.MULTILINE))
        assert not keys or path.name == "steps.toml", path.name
    stated = re.compile(r"^(wait|hands)(_low|_high)?_min$")
    for path in sorted(SOURCE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.keyword) and stated.match(node.arg or ""):
                figure = isinstance(node.value, ast.Constant) and node.value.value
                assert not figure, f"{path}:{node.value.lineno}"
            if isinstance(node, ast.Call) and ast.unparse(node.func).endswith("Minutes"):
                given = [*node.args, *(keyword.value for keyword in node.keywords)]
                assert not any(isinstance(one, ast.Constant) for one in given), f"{path}:{node.lineno}"


def test_no_words_state_a_wait_that_the_table_holds() -> None:
    """Rules, notes and the steps' own texts name no time: it is read from the table when they are shown."""
    for path in sorted(Path(str(DATA)).rglob("*.toml")):
        if path.name == "cautions.toml":
            continue  # means over a shift are limits of exposure, no waits
        for key, words in _strings(tomllib.loads(path.read_text())):
            assert key == "source" or not DURATION.search(words), f"{path.name}: {words}"


def _strings(table: object, key: str = "") -> list[tuple[str, str]]:
    if isinstance(table, str):
        return [(key, table)]
    if isinstance(table, dict):
        return [pair for name, value in table.items() for pair in _strings(value, name)]
    if isinstance(table, list):
        return [pair for value in table for pair in _strings(value, key)]
    return []


@pytest.mark.parametrize("process", list(Process))
@pytest.mark.parametrize("step_mm", [0.01, 0.2])
def test_master_and_compatibility_take_the_same_steps_from_the_table(process: Process, step_mm: float) -> None:
    """The same sealing once waited 240 and 1440 minutes in one plan."""
    done = post_steps(process=process, step_mm=step_mm, show_area_mm2=4000.0, support_mm2=100.0)
    for one in done:
        assert one.wait == step(one.id).wait
    for traits in ({"photopolymer"}, {"filament", "layered"}):
        asked = judge(first=ADDITION, second=frozenset(traits), contact=Contact.CURES_AGAINST).steps
        assert all(one == step(one.id) for one in asked)


def test_what_the_master_has_seen_is_not_asked_for_again() -> None:
    done = post_steps(process=Process.VAT, step_mm=0.01, show_area_mm2=4000.0, support_mm2=100.0)
    surface = surface_after({"photopolymer"}, done)
    assert {"washed", "post-cured", "sealed"} <= surface
    asked = judge(first=ADDITION, second=surface, contact=Contact.CURES_AGAINST).steps
    assert [one.id for one in asked] == ["test-patch"]


def test_a_rule_may_ask_only_for_steps_of_the_table_and_what_they_use_is_known() -> None:
    for rule in all_rules():
        for name in rule.steps:
            assert step(name).id == name
    for one in all_steps():
        assert one.uses is None or (shipped().get(one.uses) and one.uses_g_dm2 > 0)
        assert one.follows is None or (step(one.follows).leaves and step(one.follows).rank < one.rank)
        assert all((one.text, one.why, one.name))


def test_ranks_rise_through_the_file() -> None:
    assert all(before.rank <= after.rank for before, after in pairwise(all_steps()))
    assert len({one.id for one in all_steps()}) == len(all_steps())


def test_drying_takes_the_damp_away_and_drying_a_coat_goes_with_the_coat() -> None:
    assert "damp" not in surface_after({"damp", "porous"}, [step("dry-surface")])
    primed = frozenset({"primed"})
    left = still_to_do([step(name) for name in ("prime", "dry-primer", "seal", "dry-sealer")], primed)
    assert [one.id for one in left] == ["seal", "dry-sealer"]


def test_what_lies_beneath_a_coat_is_past() -> None:
    asked = [step(name) for name in ("wash", "post-cure", "sand", "seal", "dry-sealer", "test-patch")]
    assert [one.id for one in still_to_do(asked, frozenset({"sealed"}))] == ["test-patch"]
    assert [one.id for one in still_to_do(asked, frozenset({"primed"}))] == ["seal", "dry-sealer", "test-patch"]


@given(likely_min=st.floats(0.1, 500), one=st.sampled_from(all_steps()))
def test_other_minutes_of_hands_keep_the_shape_of_the_spread(likely_min: float, one: Step) -> None:
    hands = with_hands(one, likely_min).hands
    assert hands.likely_min == likely_min
    assert 0 <= hands.low_min <= likely_min <= hands.high_min
    assert hands.high_min * one.hands.low_min == pytest.approx(hands.low_min * one.hands.high_min)


def test_the_words_of_a_step_give_its_wait_from_the_table() -> None:
    assert step("dry-sealer").instruction.endswith("Wait 24 h (12 h to 48 h).")
    assert "at 65 °C" in step("post-bake").instruction
    assert "Wait" not in step("sand").instruction


@pytest.mark.parametrize("wrong", [(3, 2, 5), (-1, 2, 5), (1, 6, 5), (1, 2, float("inf"))])
def test_minutes_that_cannot_be_are_refused(wrong: tuple[float, float, float]) -> None:
    low, likely, high = wrong
    with pytest.raises(BadRequest):
        Minutes(low_min=low, likely_min=likely, high_min=high)
    with pytest.raises(BadRequest):
        step("polish with a cloth")
