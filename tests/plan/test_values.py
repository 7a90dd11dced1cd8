"""What a plan says of its parts: every finding once, with its part, the worst first."""

from types import SimpleNamespace as Some

from firstpour.plan.values import FailedPart, PartPlan, Plan, each_once, of_part
from firstpour.values import Finding, Severity


def finding(code, *, severity=Severity.INFO, where=None):
    return Finding(severity=severity, code=code, what=f"{code} was seen", remedy="look again", where=where)


def with_findings(*codes):
    return Some(findings=tuple(finding(code) for code in codes))


def part(name="limpet", **stages):
    every = {
        "part": with_findings(), "measures": with_findings(), "fill": None, "flow": None, "mould": with_findings(),
        "printing": with_findings(), "pours": (), "draws": (), "choice": None, "worked_name": "", **stages,
    }  # fmt: skip
    return PartPlan(request=Some(name=name), **every)


def codes(found):
    return [one.code for one in found]


def test_every_stage_of_a_part_is_heard_and_the_same_words_are_said_once():
    every = part(
        part=with_findings("a"), measures=with_findings("b"), fill=with_findings("c", "a"), flow=with_findings("d"),
        mould=with_findings("e"), printing=with_findings("f"), said=(finding("g"),),
    )  # fmt: skip
    assert codes(every.findings) == list("abcdefg")
    assert {one.where for one in every.findings} == {"limpet"}
    assert codes(part(mould=with_findings("e")).findings) == ["e"]


def test_the_place_of_a_finding_stands_behind_the_name_of_its_part():
    assert of_part(finding("a", where="at the rim"), "limpet").where == "limpet, at the rim"
    assert of_part(finding("a", where="limpet"), "limpet").where == "limpet"
    assert of_part(finding("a"), "limpet").where == "limpet"


def shelf(*findings, **choices):
    return Some(findings=findings, parts=[Some(name=name, findings=found) for name, found in choices.items()])


def test_errors_come_before_warnings_and_these_before_hints_each_in_the_order_of_the_work():
    parts = (
        part(said=(finding("hint"), finding("bad", severity=Severity.ERROR))),
        part("star", said=(finding("so-so", severity=Severity.WARNING), finding("late"))),
    )
    failed = FailedPart(name="urchin", problem="it is open", remedy="close it", code="unreadable")
    plan = Plan(job=None, parts=parts, failed=(failed,))
    assert codes(plan.findings) == ["part-not-planned", "bad", "so-so", "hint", "late"]


def test_what_the_shelf_says_of_the_whole_job_is_not_said_of_each_part_again():
    stale, thin = finding("stale", where="the shelf"), finding("thin")
    plan = Plan(job=None, parts=(part(),), shelf=shelf(stale, limpet=(finding("stale"), thin), star=(thin,)))
    assert [(one.code, one.where) for one in plan.findings] == [("thin", "limpet; star"), ("stale", "the shelf")]


def test_places_that_are_told_twice_are_told_once_and_no_place_is_none():
    assert [one.where for one in each_once([finding("a", where="x"), finding("a"), finding("a", where="x")])] == ["x"]
    assert [one.where for one in each_once([finding("a"), finding("a")])] == [None]
