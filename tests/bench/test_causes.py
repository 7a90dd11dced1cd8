"""Causes: the table covers every defect, the score is Bayes' rule and can be read, the log turns the order."""

from datetime import timedelta
from pathlib import Path

import pytest

from bench_walk import NOON, at_kind, walk
from firstpour.bench.causes import UNSEEN, Cause, Fact, Sign, causes_of, table
from firstpour.bench.defects import Defect, DefectKind, Place, defect_said
from firstpour.bench.doing import advance, record_outcome
from firstpour.bench.facts import diagnose
from firstpour.bench.kept import Bench
from firstpour.bench.sessions import start
from firstpour.bench.steps import StepKind
from firstpour.bench.weigh_in import weigh_in
from firstpour.errors import BadRequest


def likeliest(kind: DefectKind, place: Place = Place.ANYWHERE, *facts: Fact) -> list[str]:
    return [one.cause for one in causes_of([(kind, place)], facts)]


def said(sign: Sign, *, holds: bool = True) -> Fact:
    return Fact(sign=sign, holds=holds, words=sign.value)


@pytest.mark.parametrize(
    ("kind", "place", "cause"),
    [
        (DefectKind.TACKY, Place.ANYWHERE, "ratio-off"),
        (DefectKind.SOFT_SPOTS, Place.ANYWHERE, "not-stirred-through"),
        (DefectKind.TACKY_SURFACE, Place.AGAINST_MOULD, "inhibited"),
        (DefectKind.LARGE_BUBBLE, Place.POCKET, "air-shut-in"),
        (DefectKind.SMALL_BUBBLES, Place.ANYWHERE, "air-stirred-in"),
        (DefectKind.SHORT_FILL, Place.HIGH, "air-shut-in"),
        (DefectKind.SHORT_FILL, Place.THIN, "poured-too-late"),
        (DefectKind.FLASH, Place.SEAM, "gaping"),
        (DefectKind.TORN, Place.THIN, "opened-too-early"),
        (DefectKind.MISMATCH, Place.SEAM, "keys-not-seated"),
        (DefectKind.SUNKEN, Place.THICK, "shrunk-or-sank"),
        (DefectKind.CLOUDY, Place.ANYWHERE, "air-stirred-in"),
        (DefectKind.BRITTLE, Place.ANYWHERE, "ratio-off"),
        (DefectKind.STICKING, Place.AGAINST_MOULD, "no-release"),
    ],
)
def test_what_a_caster_would_think_of_first_comes_first(kind: DefectKind, place: Place, cause: str) -> None:
    """Common practice, no source."""
    assert likeliest(kind, place)[0] == cause


@pytest.mark.parametrize(
    ("kind", "sign", "cause"),
    [
        (DefectKind.TACKY, Sign.COLD, "too-cold"),
        (DefectKind.TACKY, Sign.PAST_ITS_DATE, "old-material"),
        (DefectKind.TORN, Sign.OPENED_EARLY, "opened-too-early"),
        (DefectKind.SHORT_FILL, Sign.POURED_LATE, "poured-too-late"),
        (DefectKind.STICKING, Sign.WORN_MOULD, "worn-mould"),
        (DefectKind.SHORT_FILL, Sign.LIGHT_BATCH, "too-little-poured"),
    ],
)
def test_what_the_log_says_raises_its_cause_and_what_it_denies_lowers_it(
    kind: DefectKind, sign: Sign, cause: str
) -> None:
    def share(*facts: Fact) -> float:
        return next(one.share for one in causes_of([(kind, Place.ANYWHERE)], facts) if one.cause == cause)

    assert share(said(sign)) > share() > share(said(sign, holds=False))
    assert cause in likeliest(kind, Place.ANYWHERE, said(sign))[:2]


def test_the_score_is_bayes_rule_worked_by_hand() -> None:
    """Two causes: 3 × 4 × 2 = 24 against 1 × 6 × 0.5 = 3, so 24/27 and 3/27."""
    both = [
        row("one", prior=3, shows=4, yes=2.0, no=0.5),
        row("other", prior=1, shows=6, yes=0.5, no=2.0),
    ]
    first, second = causes_of([(DefectKind.FLASH, Place.ANYWHERE)], [said(Sign.COLD)], causes=both)
    assert (first.cause, first.share, second.share) == ("one", pytest.approx(24 / 27), pytest.approx(3 / 27))
    assert [(one.words, one.ratio) for one in first.reasons_for] == [("flash", 4), ("cold", 2)]
    assert [(one.words, one.ratio) for one in second.reasons_against] == [("cold", 0.5)]
    assert (first.prior_share, second.prior_share) == (0.75, 0.25)


def row(name: str, *, prior: float, shows: float, yes: float, no: float) -> Cause:
    return Cause(
        id=name,
        name=name,
        prior=prior,
        next_try="x",
        shows={DefectKind.FLASH: shows},
        places={},
        log={Sign.COLD: (yes, no)},
    )


def test_the_table_holds_for_every_defect_and_every_sign() -> None:
    for kind in DefectKind:
        assert sum(one.shows.get(kind, 0) >= 3 for one in table()) >= 2, kind
    for sign in Sign:
        assert any(sign in one.log for one in table()), sign
    for cause in table():
        assert 0 < cause.prior <= 20
        assert all(ratio > UNSEEN for ratio in cause.shows.values())
        assert all(0 < no <= 2 and 0 < yes <= 20 for yes, no in cause.log.values())
    assert len({one.id for one in table()}) == len(table())


def test_shares_sum_to_one_and_nothing_seen_is_nothing_said() -> None:
    found = causes_of([(DefectKind.FLASH, Place.SEAM), (DefectKind.MISMATCH, Place.SEAM)])
    assert sum(one.share for one in found) == pytest.approx(1)
    assert found[0].cause in ("keys-not-seated", "gaping")
    assert causes_of([]) == ()


def test_a_late_pour_at_the_bench_is_found_in_its_log(bench: Bench, kept: int) -> None:
    now = start(bench, plan=kept, part="limpet", at=NOON, temperature_c=23)
    now, at = walk(bench, now, at=NOON, until=lambda one: one.round == 1 and at_kind(StepKind.POUR)(one))
    now = advance(bench, now.session, at=at + timedelta(minutes=9))
    now, at = walk(bench, now, at=at + timedelta(minutes=9), until=at_kind(StepKind.OUTCOME))
    short = Defect(kind=DefectKind.SHORT_FILL, place=Place.THIN)
    record_outcome(bench, now.session, at=at, defects=[short])
    found = diagnose(bench, now.session)
    assert found[0].cause == "poured-too-late"
    assert any("poured at minute 9 of a pot life of 7" in one.words for one in found[0].reasons_for)
    assert found[0].share > 0.7


def test_a_light_cup_weighed_off_its_ratio_is_found_in_its_log(bench: Bench, kept: int) -> None:
    now = start(bench, plan=kept, part="limpet", at=NOON)
    now, at = walk(bench, now, at=NOON, until=lambda one: one.round == 1 and at_kind(StepKind.WEIGH)(one))
    wanted = now.step.weigh  # type: ignore[union-attr]
    assert wanted is not None
    weigh_in(bench, now.session, at=at, a_g=wanted.a_g, b_g=0.85 * wanted.b_g)
    now = advance(bench, now.session, at=at)
    now, at = walk(bench, now, at=at, until=at_kind(StepKind.OUTCOME))
    record_outcome(bench, now.session, at=at, defects=[Defect(kind=DefectKind.TACKY)])
    found = diagnose(bench, now.session)
    assert found[0].cause == "ratio-off"
    assert any("-15.0 % off its ratio" in one.words for one in found[0].reasons_for)


def test_without_a_spoiled_copy_there_is_nothing_to_find(bench: Bench, kept: int) -> None:
    now = start(bench, plan=kept, part="limpet", at=NOON)
    with pytest.raises(BadRequest, match="no copy"):
        diagnose(bench, now.session)
    with pytest.raises(BadRequest, match="may be"):
        defect_said("tacky a")


def test_the_page_of_the_causes_is_that_of_the_table() -> None:
    written = (Path(__file__).parents[2] / "docs" / "causes.md").read_text(encoding="utf-8")
    for cause in table():
        assert f"Prior {cause.prior:g} of 100. Seen: " in written
        assert f"Try next: {cause.next_try}." in written
        for kind, ratio in cause.shows.items():
            assert f"{kind.value} × {ratio:g}" in written
