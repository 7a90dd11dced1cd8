"""Bushes, nuts, magnets and meshes against closed forms of prisms, each held as it must be."""

from dataclasses import replace
from math import pi, sin, sqrt

import manifold3d
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.errors import BadJob, BadRequest
from firstpour.files.stl import stl_bytes
from firstpour.inserts.held import hold_inserts
from firstpour.inserts.told import may_fall
from firstpour.inserts.values import Hold, Insert, InsertShape
from firstpour.part.part import FaceMark
from firstpour.surface.solids import count_bodies, from_solid, to_solid
from firstpour.values import mesh_volume_mm3
from mould_shapes import X, Z, as_part

RADIUS_MM, HIGH_MM, WALL_MM = 20.0, 15.0, 8.0
NUT = {"shape": InsertShape.NUT, "across_flats_mm": 7.0, "length_mm": 3.2, "bore_mm": 4.0}
"""Sizes as a user might give them: width across flats and height of an M4 nut of ISO 4032 (from memory)."""


def prism_mm3(sides, circle_mm, length_mm):
    """n/2 · r² · sin(2π/n) · h."""
    return sides / 2 * (circle_mm / 2) ** 2 * sin(2 * pi / sides) * length_mm


def disc():
    return as_part("disc", manifold3d.Manifold.cylinder(HIGH_MM, RADIUS_MM, RADIUS_MM, 96))


def held(*inserts, part=None, shrinkage=0.0):
    return hold_inserts(part or disc(), inserts, draw=Z, wall_mm=WALL_MM, casting_shrinkage_ratio=shrinkage)


def lost_mm3(made):
    return mesh_volume_mm3(disc().mesh) - mesh_volume_mm3(made.shot.mesh)


def test_a_nut_takes_a_hexagon_of_its_width_across_flats():
    """Area of a regular hexagon: √3/2 · s²."""
    made = held(Insert(at_mm=(0, 0, 1.6), **NUT))
    assert lost_mm3(made) == pytest.approx(sqrt(3) / 2 * 7.0**2 * 3.2, rel=1e-9)
    (one,) = made.inserts
    assert (one.hold, one.sides) == (Hold.PIN, (-1,))
    pin_mm3 = prism_mm3(96, 4.0, 3.2)
    assert mesh_volume_mm3(made.cored.mesh) == pytest.approx(mesh_volume_mm3(disc().mesh) - pin_mm3, rel=1e-9)
    assert made.taken_mm3 == pytest.approx(sqrt(3) / 2 * 7.0**2 * 3.2 - pin_mm3, rel=1e-9)


def test_a_bush_with_a_flange_takes_both_and_its_flange_lies_where_it_points():
    bush = Insert(
        shape=InsertShape.BUSH, at_mm=(0, 0, 7.5), diameter_mm=8, length_mm=15, bore_mm=4, flange_mm=12,
        flange_length_mm=2,
    )  # fmt: skip
    made = held(bush)
    assert lost_mm3(made) == pytest.approx(prism_mm3(96, 8, 13) + prism_mm3(96, 12, 2), rel=1e-9)
    wide = made.shot.mesh.vertices_mm[np.abs(np.hypot(*made.shot.mesh.vertices_mm[:, :2].T) - 6.0) < 1e-6]
    assert wide[:, 2].min() == pytest.approx(13.0)
    assert made.inserts[0].sides == (1, -1)


def test_a_disc_that_stands_out_sits_in_a_recess_as_deep_as_it_stands_out():
    made = held(Insert(shape=InsertShape.MAGNET, at_mm=(8, 0, 0.5), diameter_mm=6, length_mm=3), shrinkage=0.01)
    assert made.inserts[0].hold is Hold.RECESS
    assert made.cored.mesh.vertices_mm[:, 2].min() == pytest.approx(-1.0)
    low = made.cored.mesh.vertices_mm[made.cored.mesh.vertices_mm[:, 2] < -0.9]
    assert np.hypot(low[:, 0] - 8.0, low[:, 1]).max() == pytest.approx(3.0 * 0.99)
    assert lost_mm3(made) == pytest.approx(prism_mm3(96, 6, 2), rel=1e-9)
    assert {finding.code for finding in made.findings} == {"insert-stays", "insert-magnet"}


def test_a_disc_within_the_part_stands_on_three_pegs_from_the_nearer_side():
    made = held(Insert(shape=InsertShape.MAGNET, at_mm=(8, 0, 3.0), diameter_mm=6, length_mm=3))
    (one,) = made.inserts
    assert (one.hold, one.sides, len(one.pegs)) == (Hold.PEGS, (-1,), 3)
    assert one.stand_off_mm == pytest.approx(1.5)
    assert "1.5 mm off the face" in made.findings[0].what
    assert to_solid(made.cored.mesh).genus() == 0
    gone_mm3 = mesh_volume_mm3(disc().mesh) - mesh_volume_mm3(made.cored.mesh)
    under_mm3, beside_mm3 = 3 * prism_mm3(96, 3.0, 1.5), 3 * prism_mm3(96, 3.0, 1.0)
    assert under_mm3 < gone_mm3 < under_mm3 + 0.7 * beside_mm3
    assert mesh_volume_mm3(made.cored.mesh) - made.taken_mm3 == pytest.approx(mesh_volume_mm3(made.shot.mesh))


def clip_file(folder, *, closed=True):
    """A stem with a head, in a file of its own."""
    solid = manifold3d.Manifold.cylinder(12, 2, 2, 48) + manifold3d.Manifold.cylinder(3, 5, 5, 48)
    mesh = from_solid(solid)
    faces = mesh.faces if closed else mesh.faces[: len(mesh.faces) // 2]
    (folder / "clip.stl").write_bytes(stl_bytes(replace(mesh, faces=faces)))
    return folder / "clip.stl", solid


def test_a_mesh_is_taken_where_it_lies_and_held_by_what_stands_out(tmp_path):
    file, solid = clip_file(tmp_path)
    made = held(Insert(shape=InsertShape.MESH, file=file, at_mm=(0, 0, 8)))
    assert lost_mm3(made) == pytest.approx(solid.volume() - prism_mm3(48, 4, 5), rel=1e-5)
    assert (made.inserts[0].hold, made.inserts[0].sides) == (Hold.RECESS, (1,))
    assert made.cored.mesh.vertices_mm[:, 2].max() == pytest.approx(20.0)


def test_a_mesh_wholly_within_an_open_one_and_one_that_is_away_are_refused(tmp_path):
    file, _ = clip_file(tmp_path)
    with pytest.raises(BadRequest, match=r"stands out of the part with 0\.0 mm³"):
        held(Insert(shape=InsertShape.MESH, file=file, at_mm=(0, 0, 2)))
    clip_file(tmp_path, closed=False)
    with pytest.raises(BadRequest, match=r"clip\.stl: "):
        held(Insert(shape=InsertShape.MESH, file=file, at_mm=(0, 0, 8)))
    file.unlink()
    with pytest.raises(BadRequest, match=r"clip\.stl cannot be read"):
        held(Insert(shape=InsertShape.MESH, file=file, at_mm=(0, 0, 8)))


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"shape": InsertShape.MAGNET, "at_mm": (8, 0, 1.5), "diameter_mm": 6, "length_mm": 3}, "lies flush"),
        ({"shape": InsertShape.MAGNET, "at_mm": (0, 0, 7.5), "diameter_mm": 2, "length_mm": 1}, "would not carry it"),
        ({**NUT, "at_mm": (0, 0, 7.5)}, "ends inside the part at both ends"),
        ({**NUT, "at_mm": (1.6, 0, 7.5), "along": (1, 0, 0), "across_flats_mm": 60.0}, "is larger than the part"),
        ({**NUT, "at_mm": (40, 0, 1.6)}, "hangs in air"),
        ({**NUT, "at_mm": (18.4, 0, 7.5), "along": (1, 0, 0)}, "lies across the draw"),
        ({"shape": InsertShape.ROD, "at_mm": (0, 0, 7.5), "diameter_mm": 4, "length_mm": 4}, "ends inside the part"),
    ],
)
def test_what_nothing_can_hold_is_refused(given, words):
    with pytest.raises(BadRequest, match=words) as refused:
        held(Insert(**given))
    assert refused.value.remedy


def test_two_that_overlap_are_refused_also_where_only_their_seats_do():
    rod = Insert(shape=InsertShape.ROD, at_mm=(0, 0, 7.5), diameter_mm=4, length_mm=15)
    with pytest.raises(BadRequest, match="overlap by"):
        held(rod, replace(rod, at_mm=(3, 0, 7.5)))
    with pytest.raises(BadRequest, match="overlap by"):
        held(rod, Insert(shape=InsertShape.MAGNET, at_mm=(4.5, 0, 14.5), diameter_mm=6, length_mm=3))
    assert count_bodies(to_solid(held(rod, replace(rod, at_mm=(9, 0, 7.5))).shot.mesh)) == 1


def test_a_rod_of_a_blind_hole_sits_in_one_half_and_is_cut_for_one_seat():
    made = held(Insert(shape=InsertShape.ROD, at_mm=(0, 0, 4), diameter_mm=4, length_mm=8))
    (one,) = made.inserts
    assert (one.sides, one.length_mm) == ((-1,), 13.0)
    assert "the lower half alone" in made.findings[0].what
    assert made.cored.mesh.vertices_mm[:, 2].min() == pytest.approx(-5.0)


def test_what_hangs_from_one_half_is_told_with_the_way_to_pour_it():
    magnet, nut = (
        held(one).inserts[0]
        for one in (
            Insert(shape=InsertShape.MAGNET, at_mm=(8, 0, 0.5), diameter_mm=6, length_mm=3),
            Insert(at_mm=(0, 0, 1.6), **NUT),
        )
    )
    assert may_fall(magnet, Z, Z) is None
    assert may_fall(nut, Z, Z) is None
    assert may_fall(nut, X, Z) is None
    assert "up = [0, 0, 1]" in may_fall(magnet, X, Z).remedy
    assert may_fall(nut, -Z, Z).code == "insert-may-fall"


def test_no_gate_may_lie_on_what_touches_an_insert():
    made = held(Insert(shape=InsertShape.BUSH, at_mm=(0, 0, 7.5), diameter_mm=8, length_mm=15, bore_mm=4))
    kept = (made.shot.marks & int(FaceMark.KEEP_CLEAR)) != 0
    middles = made.shot.mesh.vertices_mm[made.shot.mesh.faces].mean(axis=1)
    assert np.array_equal(kept, np.hypot(middles[:, 0], middles[:, 1]) < 4.1)


@settings(max_examples=25, deadline=None)
@given(
    across_mm=st.floats(3, 12),
    long_mm=st.floats(2, 6),
    at_mm=st.floats(-0.9, 0.9),
    shape=st.sampled_from(["nut", "disc"]),
)
def test_shot_insert_and_silicone_share_the_part_among_them(across_mm, long_mm, at_mm, shape):
    """Whatever is set in: what silicone is cast around, less the inserts, is the shot."""
    if shape == "nut":
        size = {"shape": InsertShape.NUT, "across_flats_mm": across_mm, "bore_mm": 0.5 * across_mm}
        at = (0.0, 0.0, 0.5 * long_mm)
    else:
        size = {"shape": InsertShape.MAGNET, "diameter_mm": across_mm}
        at = (0.0, 0.0, 0.5 * long_mm - 0.6 if at_mm < 0 else 0.5 * long_mm + 1.0)
    made = held(Insert(at_mm=at, length_mm=long_mm, **size))
    left_mm3 = mesh_volume_mm3(made.cored.mesh) - made.taken_mm3
    assert left_mm3 == pytest.approx(mesh_volume_mm3(made.shot.mesh), rel=1e-9)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"shape": InsertShape.NUT, "across_flats_mm": 7, "length_mm": 3}, "a bore of 0"),
        ({"shape": InsertShape.NUT, "length_mm": 3, "bore_mm": 3}, "is no size"),
        ({**NUT, "diameter_mm": 4}, "with diameter"),
        ({"shape": InsertShape.MAGNET, "diameter_mm": 6, "length_mm": 3, "flange_mm": 8}, "with a flange"),
        (
            {"shape": InsertShape.BUSH, "diameter_mm": 6, "length_mm": 3, "bore_mm": 3, "flange_mm": 8},
            "a flange of 8 × 0",
        ),
        ({"shape": InsertShape.MESH}, "without a file"),
    ],
)
def test_sizes_that_do_not_belong_together_are_refused(given, words):
    with pytest.raises(BadJob, match=words):
        Insert(**given)
