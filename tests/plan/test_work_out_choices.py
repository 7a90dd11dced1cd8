"""What each stage on the way to the mould is given: stages are stand-ins that keep what they were asked."""

from dataclasses import dataclass, replace
from types import SimpleNamespace as Some

import pytest

from firstpour.job.job import PartRequest
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.parting.values import MouldKind
from firstpour.plan import work_out as module
from firstpour.plan.cavity_room import Room
from firstpour.plan.work_out import work_out
from firstpour.printing.printers import TYPICAL_PRINTERS, VAT_PRINTER, Process

SETTINGS, MATERIALS = MouldSettings(), MouldMaterials()


@dataclass(frozen=True)
class Laid:
    """A parting by its name."""

    name: str
    draw: str = "draw"
    kind: MouldKind = MouldKind.TRAYS
    smooth: bool = True


@dataclass(frozen=True)
class Made:
    """A mould, as far as its pieces and findings go."""

    pieces: tuple = ("upper",)
    findings: tuple = ("of the mould",)


class Stages:
    """Keeps what each stage was given, by its name."""

    def __init__(self, monkeypatch, *, held=None, fill=True, several=None, foot=None, kind=MouldKind.TRAYS):
        self.given, parted = {}, Laid(name="opens", kind=kind)
        answers = {
            "held_in": held, "lay_parting_that_opens": parted, "lay_parting": replace(parted, name="as asked"),
            "draw_along": "draw of both", "check_held": None, "seam_on_shot": "seam on the shot",
            "turned_for_its_pour": replace(parted, name="turned"), "own_draw": "own draw",
            "plan_fill": Some(channels=("gate",), up="up", plan="plan") if fill else None, "lay_cavities": several,
            "cavity_options": ("option",), "make_mould": Made(), "pours_of": "pours", "told_of": ("of the insert",),
            "pour_findings": ("of the pour",), "wedge_piece": foot, "plan_printing": "printing",
        }  # fmt: skip
        for name, answer in answers.items():
            monkeypatch.setattr(module, name, self.stage(name, answer))
        monkeypatch.setattr(module, "with_inserts", lambda mould, held, *_: self.keep("with_inserts", mould, held))
        monkeypatch.setattr(module, "stood_as_printed", lambda mould, printing: mould)

    def stage(self, name, answer):
        def work(*given, **named):
            self.given[name] = (given, named)
            return answer

        return work

    def keep(self, name, mould, held):
        self.given[name] = ((mould, held), {})
        return mould

    def done(self, room=None, **asked):
        looked = Some(part="part", draw=Some(direction="up"), kind=MouldKind.TRAYS)
        request = PartRequest(name="cube", **asked)
        return work_out(looked, request, SETTINGS, MATERIALS, TYPICAL_PRINTERS, "mix", room)


HELD = Some(shot="shot", cored="cored", inserts=("nut",), taken_mm3=70.0)


def test_a_part_without_inserts_is_parted_filled_and_made_as_it_is(monkeypatch):
    stages = Stages(monkeypatch)
    made = stages.done()
    assert stages.given["lay_parting_that_opens"][0][0] == "part"
    assert (
        not {"lay_parting", "check_held", "seam_on_shot", "own_draw", "told_of", "draw_along"} & stages.given.keys()
    )
    part, parted, *_ = stages.given["plan_fill"][0]
    assert (part, parted.name, stages.given["plan_fill"][1]["mix"]) == ("part", "turned", "mix")
    (laid,), how = stages.given["make_mould"]
    assert (laid.name, how["channels"], how["cavities"], how["taken_mm3"]) == ("turned", ("gate",), 1, 0.0)
    assert stages.given["pours_of"] == ((Made(), "part", "plan"), {"whole": "part"})
    assert made.mould.findings == ("of the mould", "of the pour")
    assert (made.inserts, made.cavity_options, made.smooth) == ((), ("option",), True)


def test_silicone_is_cast_around_the_part_with_its_inserts_and_the_shot_is_what_they_leave(monkeypatch):
    stages = Stages(monkeypatch, held=HELD)
    made = stages.done()
    assert stages.given["draw_along"][0] == ("cored", "up")
    assert stages.given["lay_parting_that_opens"][0][:2] == ("cored", "draw of both")
    assert stages.given["check_held"][0][:1] == (HELD,)
    assert stages.given["plan_fill"][0][:2] == ("shot", "seam on the shot")
    (laid,), how = stages.given["make_mould"]
    assert (laid.draw, how["taken_mm3"]) == ("own draw", 70.0)
    assert stages.given["pours_of"] == ((Made(), "shot", "plan"), {"whole": "cored"})
    assert stages.given["with_inserts"][0] == (Made(), HELD)
    assert made.mould.findings == ("of the mould", "of the insert", "of the pour")
    assert made.inserts == ("nut",)


@pytest.mark.parametrize(("kind", "parted"), [(None, "opens"), (MouldKind.TRAYS, "as asked")])
@pytest.mark.parametrize(("draw", "turns"), [(None, True), ((0.0, 0.0, 1.0), False)])
def test_a_kind_and_a_draw_that_the_maker_fixed_are_kept(monkeypatch, kind, parted, draw, turns):
    """Without a kind the parting is laid so that it opens; without a draw the mould may be turned for its pour."""
    stages = Stages(monkeypatch)
    stages.done(kind=kind, draw=draw)
    assert ("lay_parting" in stages.given) is (parted == "as asked")
    assert stages.given["plan_fill"][0][1].name == ("turned" if turns else parted)


@pytest.mark.parametrize(
    ("kind", "size_mm"), [(MouldKind.TRAYS, VAT_PRINTER.size_mm), (MouldKind.BEDDING, TYPICAL_PRINTERS[0].size_mm)]
)
def test_trays_are_printed_by_the_process_asked_for_and_boxes_by_the_one_with_most_room(monkeypatch, kind, size_mm):
    stages = Stages(monkeypatch, kind=kind)
    stages.done(process=Process.VAT)
    for name in ("make_mould", "lay_cavities", "cavity_options"):
        assert stages.given[name][1]["printer_mm"] == size_mm


def test_a_mould_that_is_poured_open_has_no_channels_and_no_way_up(monkeypatch):
    stages = Stages(monkeypatch, fill=False)
    stages.done()
    assert stages.given["make_mould"][1]["channels"] == ()
    assert (stages.given["lay_cavities"][1]["up"], stages.given["cavity_options"][1]["up"]) == (None, None)
    assert stages.given["pours_of"][0][2] is None


def test_one_with_a_fill_has_its_cavities_along_the_way_up_of_the_pour(monkeypatch):
    stages = Stages(monkeypatch)
    stages.done()
    assert (stages.given["lay_cavities"][1]["up"], stages.given["cavity_options"][1]["up"]) == ("up", "up")


def test_several_cavities_bring_their_own_parting_channels_and_numbers(monkeypatch):
    several = Some(
        parting=Laid(name="of all", draw="as they lie"), channels=("gate", "gate"), cavities=3, part="all of them",
        options=("two", "three"),
    )  # fmt: skip
    stages = Stages(monkeypatch, several=several)
    made = stages.done(Room(cavities=7, basin=True), cavities="most")
    assert (stages.given["lay_cavities"][1]["room"], stages.given["lay_cavities"][1]["wanted"]) == (7, "most")
    (laid,), how = stages.given["make_mould"]
    assert (laid.name, laid.draw) == ("of all", "draw")
    assert (how["channels"], how["cavities"], how["basin"]) == (("gate", "gate"), 3, True)
    assert stages.given["pours_of"][1] == {"whole": "all of them"}
    assert made.cavity_options == ("two", "three")
    assert "cavity_options" not in stages.given


def test_without_word_of_the_materials_there_is_room_for_48_cavities_and_no_basin(monkeypatch):
    stages = Stages(monkeypatch)
    stages.done()
    assert (stages.given["lay_cavities"][1]["room"], stages.given["make_mould"][1]["basin"]) == (48, False)


@pytest.mark.parametrize(("foot", "pieces"), [(None, ("upper",)), ("wedge", ("upper", "wedge"))])
def test_a_foot_for_a_tilted_pour_is_one_more_piece(monkeypatch, foot, pieces):
    assert Stages(monkeypatch, foot=foot).done().mould.pieces == pieces
