"""The order from the part to its mould: which stage is asked, and with what; each stage is a stand-in."""

from dataclasses import dataclass
from types import SimpleNamespace as Some

import pytest

from firstpour.job.job import PartRequest
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.parting.values import MouldKind
from firstpour.plan import work_out as way
from firstpour.printing.printers import FILAMENT_PRINTER, VAT_PRINTER, Process


@dataclass(frozen=True)
class Made:
    findings: tuple = ("of the mould",)
    pieces: tuple = ("half",)


@pytest.fixture
def asked(monkeypatch):
    """Work a part out where every stage tells what it was asked."""

    def worked(*, laid=MouldKind.TRAYS, fill=None, foot=None, **request):
        calls = {}

        def stage(name, answer):
            def call(*given, **named):
                calls[name] = (given, named)
                return answer

            monkeypatch.setattr(way, name, call)

        parting = Some(kind=laid, smooth=True)
        for name in ("lay_parting", "lay_parting_that_opens", "turned_for_its_pour"):
            stage(name, parting)
        stage("plan_fill", fill)
        stage("cavity_options", ())
        stage("make_mould", Made())
        stage("pours_of", ())
        stage("pour_findings", ("of the pours",))
        stage("wedge_piece", foot)
        stage("plan_printing", "printing")
        monkeypatch.setattr(way, "stood_as_printed", lambda mould, _: mould)
        looked = Some(part="part", draw="draw", kind=laid)
        printers = (FILAMENT_PRINTER, VAT_PRINTER)
        asks = PartRequest(name="thing", **request)
        return way.work_out(looked, asks, MouldSettings(), MouldMaterials(), printers, None), calls

    return worked


def test_only_a_kind_that_nobody_fixed_may_become_another_so_that_it_opens(asked):
    _, free = asked()
    assert "lay_parting_that_opens" in free
    assert "lay_parting" not in free
    _, fixed = asked(kind=MouldKind.TRAYS)
    assert "lay_parting" in fixed
    assert "lay_parting_that_opens" not in fixed


def test_a_draw_that_the_maker_fixed_is_not_turned_over(asked):
    assert "turned_for_its_pour" in asked()[1]
    assert "turned_for_its_pour" not in asked(draw=(0.0, 0.0, 1.0))[1]


def test_the_channels_of_the_fill_go_into_the_mould_and_none_without_a_fill(asked):
    _, calls = asked(fill=Some(channels=("gate",), plan="plan", up="up"))
    assert calls["make_mould"][1]["channels"] == ("gate",)
    assert calls["pours_of"][0][2] == "plan"
    _, calls = asked()
    assert calls["make_mould"][1]["channels"] == ()
    assert calls["pours_of"][0][2] is None


@pytest.mark.parametrize(
    ("kind", "size_mm"),
    [(MouldKind.TRAYS, VAT_PRINTER.size_mm), (MouldKind.BEDDING, FILAMENT_PRINTER.size_mm)],
)
def test_trays_are_printed_by_the_parts_process_and_all_else_by_the_printer_with_most_room(asked, kind, size_mm):
    _, calls = asked(laid=kind, process=Process.VAT)
    assert calls["make_mould"][1]["printer_mm"] == size_mm


@pytest.mark.parametrize(("foot", "pieces"), [(None, ("half",)), ("foot", ("half", "foot"))])
def test_a_wedge_foot_is_a_piece_of_the_mould_and_findings_of_the_pours_are_told_with_it(asked, foot, pieces):
    done, _ = asked(foot=foot)
    assert done.mould.pieces == pieces
    assert done.mould.findings == ("of the mould", "of the pours")
    assert done.smooth
