"""Brackets, knobs and washers in one mould, planned and read back: do they lie apart, open, fill and print."""

from dataclasses import replace
from pathlib import Path

import manifold3d
import numpy as np
import pytest
import trimesh

from demo_plan import TODAY
from families import check_channels, check_opening, check_pieces, check_walls
from families.joint import least_gap_mm
from families.solids import joined
from families.written import read_moulds, solid_of
from firstpour.errors import BadJob, BadRequest, UnreadablePart
from firstpour.files.catalogue import load_catalogue
from firstpour.files.job_toml import job_from_text, read_job
from firstpour.files.stl import stl_bytes
from firstpour.fill.pockets import find_pockets
from firstpour.job.job import PartRequest
from firstpour.job.together import together
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.plan.together import look_together, work_out_together
from firstpour.printing.printers import TYPICAL_PRINTERS
from firstpour.results import plan_into
from firstpour.sheets.blocks import Ticks
from firstpour.sheets.cast_page import cast_pages
from firstpour.stock.demo_stock import demo_stock
from firstpour.values import mesh_volume_mm3
from firstpour.workshop.workshop import Workshop
from mould_shapes import as_part, sphere
from together_job import JOB, SOLIDS, write_together

SETTINGS, MATERIALS = MouldSettings(), MouldMaterials()
WALL_MM = SETTINGS.wall_mm
A_SHOT = {"bracket": 1, "knob": 2, "washer": 1}
CHECKS = (
    check_pieces.measured,
    check_pieces.balanced,
    check_pieces.open_on_top,
    check_opening.lifts_off_part,
    check_opening.lifts_off_sprue,
    check_opening.leaves_tray,
    check_walls.no_fins,
    check_walls.stated_wall,
    check_channels.open_to_outside,
    check_channels.air_in_silicone,
)


@pytest.fixture(scope="module")
def saved(tmp_path_factory):
    """The job planned and written, and its folder."""
    folder = tmp_path_factory.mktemp("shelf")
    workshop = Workshop(catalogue=load_catalogue(None), stock=demo_stock(today=TODAY), today=TODAY)
    made = plan_into(
        read_job(write_together(folder)), folder / "out", progress=lambda *_: None, workshop=workshop
    )  # fmt: skip
    return made, folder


@pytest.fixture(scope="module")
def mould(saved):
    """The mould as written, with every part where plan.json says that it lies, by a general-purpose library."""
    (entry,), folder = saved[0].entry.parts, saved[1]
    laid = []
    for member in entry.together:
        mesh = trimesh.load_mesh(folder / member.source)
        for rows in member.in_mould:
            way = np.array(rows)
            laid.append(trimesh.Trimesh(mesh.vertices @ way[:, :3].T + way[:, 3], mesh.faces, process=False))
    (folder / "set.stl").write_bytes(trimesh.util.concatenate(laid).export(file_type="stl"))
    (made,) = read_moulds(folder / "out", {"shelf set": folder / "set.stl"})
    parts = [solid_of(trimesh.Trimesh(made.scale * one.vertices, one.faces, process=False)) for one in laid]
    return replace(made, part=joined([part for part in parts if part is not None]).transform(
        np.column_stack([made.frame, np.zeros(3)])
    ))  # fmt: skip


def test_one_shot_gives_each_part_as_often_as_asked_and_a_copy_is_such_a_set(saved):
    (part,) = saved[0].entry.parts
    assert {one.name: one.a_shot for one in part.together} == A_SHOT
    assert {one.name: len(one.in_mould) for one in part.together} == A_SHOT
    assert (part.name, part.copies, part.wanted) == ("shelf set", 4, 15)
    assert part.mould.cavities == 1
    assert "together" in {finding.code for finding in saved[0].entry.findings}


def test_the_parts_lie_no_nearer_than_the_wall_and_none_is_lost(mould):
    bodies = mould.part.decompose()
    assert len(bodies) == sum(A_SHOT.values())
    assert least_gap_mm(mould) >= WALL_MM * mould.scale - 0.01
    whole_mm3 = sum(A_SHOT[name] * make().volume() for name, make in SOLIDS.items())
    assert mould.part.volume() == pytest.approx(whole_mm3 * mould.scale**3, rel=1e-6)


def test_the_shot_holds_every_part_and_its_gates(mould):
    rods = joined([rod.solid for rod in mould.rods])
    low, high = mould.block_mm
    block = manifold3d.Manifold.cube(tuple(high - low)).translate(tuple(low))
    shot_mm3 = (mould.part + (rods ^ block)).volume()
    assert mould.entry["mould"]["casting_ml"] == pytest.approx(shot_mm3 / 1000.0, rel=0.02)


def test_every_part_has_a_gate_of_its_own_straight_along_the_draw(mould):
    gates = [rod for rod in mould.rods if rod.use == "gate"]
    bodies = mould.part.decompose()
    opened = [[k for k, body in enumerate(bodies) if gate.solid.min_gap(body, 5.0) == 0.0] for gate in gates]
    assert sorted(k for each in opened for k in each) == list(range(len(bodies)))
    for gate in gates:
        way = gate.path_mm[-1] - gate.path_mm[0]
        assert np.linalg.norm(way[:2]) < 1e-6 * way[2]


@pytest.mark.parametrize("check", CHECKS, ids=lambda one: one.__name__)
def test_the_pieces_pass_the_checks_of_the_families(mould, check):
    assert check(mould) == []


def test_the_air_of_the_cast_is_no_more_than_said(mould):
    _, faults = check_channels.air_in_cast(mould)
    assert faults == []


def test_the_sheet_says_what_one_pour_fills(saved):
    (part,) = saved[0].entry.parts
    (page,) = cast_pages(saved[0].entry, part)
    pour = next(block for block in page.blocks if isinstance(block, Ticks) and block.title == "Pour")
    assert any("1 × bracket, 2 × knob, 1 × washer, one gate after the other" in item for item in pour.items)


def test_the_set_goes_into_the_order_of_work_and_its_shots_are_the_sets(saved):
    (part,) = saved[0].entry.parts
    assert saved[0].entry.schedule is not None
    assert part.materials.pours >= part.copies
    assert part.flow.volume_ml == pytest.approx(
        sum(A_SHOT[name] * make().volume() for name, make in SOLIDS.items()) / 1000.0, rel=1e-5
    )


# --- worked out by itself


def request_of(folder: Path, solids: dict[str, manifold3d.Manifold], **wishes):
    """So many parts together, drawn along z."""
    members = []
    for name, solid in solids.items():
        (folder / f"{name}.stl").write_bytes(stl_bytes(as_part(name, solid).mesh))
        members.append(PartRequest(name=name, file=folder / f"{name}.stl", **{"draw": (0, 0, 1), **wishes}))
    return together("set", members)


def worked(request, printers=TYPICAL_PRINTERS):
    looked = look_together(request, SETTINGS)
    return work_out_together(looked, request, SETTINGS, MATERIALS, printers)


def test_the_air_of_the_whole_is_that_of_each_alone(tmp_path):
    """A bell whose roof traps air beside its gate keeps it in company as well."""
    bell = sphere().trim_by_plane((0, 0, 1), 0.0) + manifold3d.Manifold.cylinder(13.0, 3.0, 3.0, 32).translate(
        (24, 0, 0)
    )
    bell += manifold3d.Manifold.cube((24.0, 4.0, 4.0)).translate((0, -2, 0))
    made = worked(request_of(tmp_path, {"bell": bell, "ball": sphere()}))
    plan, part = made.fill.plan, made.laid.part
    whole = find_pockets(part, up=(0, 0, 1), gate_mm=plan.gates[0].at_mm, vents_mm=tuple(
        one.at_mm for one in (*plan.gates[1:], *plan.vents)
    ))  # fmt: skip
    alone_mm3 = sum(len(one.in_mould) * one.fill.plan.vented.trapped_mm3 for one in made.members)
    assert whole.trapped_mm3 == pytest.approx(alone_mm3, abs=3.0)
    assert plan.vented.trapped_mm3 == pytest.approx(alone_mm3, abs=3.0)


def test_parts_of_other_heights_meet_in_one_parting_surface(tmp_path):
    """A ball and a flat plate: the rims of both lie in one plane, and the halves come apart without a step."""
    made = worked(request_of(tmp_path, {"ball": sphere(), "plate": plate()}))
    assert made.smooth
    assert {piece.bodies for piece in made.mould.pieces} == {1}
    assert len(made.mould.seam_mm) == 2
    assert made.laid.part.bodies == 2
    volume = sum(mesh_volume_mm3(one.part.mesh) for one in made.members)
    assert mesh_volume_mm3(made.laid.part.mesh) == pytest.approx(volume, rel=1e-9)


def plate() -> manifold3d.Manifold:
    return manifold3d.Manifold.cube((30.0, 20.0, 4.0))


def linked() -> manifold3d.Manifold:
    """Two holes at right angles: silicone closes a ring along any draw."""
    body = manifold3d.Manifold.cube((30.0, 30.0, 30.0), True)
    hole = manifold3d.Manifold.cylinder(40.0, 6.0, 6.0, 32, True)
    return body - hole.rotate((90, 0, 0)) - hole.rotate((0, 90, 0))


def test_a_part_that_does_not_open_with_the_others_is_refused_by_name(tmp_path):
    request = request_of(tmp_path, {"ball": sphere(), "linked": linked()})
    with pytest.raises(BadRequest) as refused:
        worked(request)
    assert refused.value.problem.startswith("linked: it shares no draw with the others")


def test_parts_that_fit_no_printer_together_are_refused(tmp_path):
    small = replace(TYPICAL_PRINTERS[0], size_mm=(60.0, 60.0, 100.0))
    request = request_of(tmp_path, {"ball": sphere(), "plate": plate()})
    with pytest.raises(BadRequest, match=r"1 × ball and 1 × plate together fit no printer here: the tray is"):
        worked(request, (small,))


def test_a_pour_across_the_draw_is_refused(tmp_path):
    request = request_of(tmp_path, {"ball": sphere(), "plate": plate()}, up=(1, 0, 0))
    with pytest.raises(BadRequest) as refused:
        worked(request)
    assert refused.value.problem.startswith("ball: it is to be poured with (1, 0, 0) up, across its draw")


def test_a_part_that_cannot_be_read_is_named(tmp_path):
    request = request_of(tmp_path, {"ball": sphere(), "plate": plate()})
    (tmp_path / "plate.stl").write_bytes(b"solid nothing\nendsolid nothing\n")
    with pytest.raises(UnreadablePart) as refused:
        look_together(request, SETTINGS)
    assert refused.value.problem.startswith("plate: ")


# --- asked for

INSERT = '[[part.insert]]\nshape = "rod"\nat_mm = [0, 0, 6]\nalong = [0, 0, 1]\ndiameter_mm = 3\nlength_mm = 12'


REFUSED = {
    "a part that is not there": (('["bracket", "knob"', '["bracket", "peg"'), "there is no part 'peg'"),
    "a part twice": (('["bracket", "knob"', '["knob", "knob"'), "names a part twice"),
    "one part": (('["bracket", "knob", "washer"]', '["knob"]'), "parts"),
    "other hardness": (('hardness = "rigid"', 'hardness = "A 30"'), 'share no mould, .* bracket is to be "A 30"'),
    "other shrinkage": (("draw = [0, 1, 0]", "clear = true"), "bracket has clear = False and washer clear = True"),
    "as many as go": (("cavities = 2", 'cavities = "most"'), 'knob has cavities = "most"'),
    "a block": (("cavities = 2", 'kind = "block"'), 'knob has kind = "block"'),
    "printed": (("cavities = 2", 'route = "print directly"'), "a print has no mould"),
    "too many": (("cavities = 2", "cavities = 47"), "49 cavities in one mould"),
    "a rod": (("cavities = 2", INSERT), "knob has inserts"),
    "in two moulds": (
        ('"washer"]', '"washer"]\n[[together]]\nparts = ["knob", "washer"]'),
        "already lies in another",
    ),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_lie_together_is_refused_in_words(tmp_path, what):
    write_together(tmp_path)
    changed, told = REFUSED[what]
    with pytest.raises(BadJob, match=told):
        job_from_text(JOB.replace(*changed, 1), folder=tmp_path)


def test_what_one_part_leaves_open_the_others_settle(tmp_path):
    write_together(tmp_path)
    text = JOB.replace("draw = [0, 1, 0]", 'hardness = "rigid"\nsilicone = "own"\nmoulds = 1')
    (whole,) = job_from_text(text, folder=tmp_path).parts
    assert (whole.hardness, whole.silicone, whole.casting) == ("rigid", "own", None)
    assert [(one.request.name, one.count) for one in whole.members] == list(A_SHOT.items())


def test_other_parts_of_the_job_stay_where_they_are(tmp_path):
    write_together(tmp_path)
    text = JOB.replace('["bracket", "knob", "washer"]', '["knob", "washer"]').replace('name = "shelf set"', "")
    job = job_from_text(text, folder=tmp_path)
    assert [one.name for one in job.parts] == ["bracket", "knob and washer"]
    assert job.parts[1].copies == 4  # eight knobs, two a shot; three washers
