"""Inserts against exact booleans and closed forms of prisms."""

from math import pi

import manifold3d
import numpy as np
import pytest

from firstpour.errors import BadJob, BadRequest
from firstpour.inserts.held import hold_inserts
from firstpour.inserts.values import Insert, InsertShape
from firstpour.surface.solids import count_bodies, to_solid
from firstpour.values import mesh_volume_mm3
from mould_shapes import Z, as_part

RADIUS_MM, HIGH_MM, BORE_MM, WALL_MM = 14.0, 10.0, 4.0, 8.0


def rod_mm3(diameter_mm, length_mm):
    """A prism of 96 sides about a circle: n/2 · r² · sin(2π/n) · h."""
    return 48.0 * (diameter_mm / 2) ** 2 * np.sin(2 * pi / 96) * length_mm


DISC_MM3 = rod_mm3(2 * RADIUS_MM, HIGH_MM)


def wheel(*, drilled=True):
    """A disc around z from 0 to its height, drilled for its axle or not."""
    disc = manifold3d.Manifold.cylinder(HIGH_MM, RADIUS_MM, RADIUS_MM, 96)
    hole = manifold3d.Manifold.cylinder(HIGH_MM + 2, BORE_MM / 2, BORE_MM / 2, 40).translate((0, 0, -1))
    return as_part("wheel", disc - hole if drilled else disc)


def insert(shape=InsertShape.ROD, **more):
    known = {"at_mm": (0.0, 0.0, HIGH_MM / 2), "along": (0.0, 0.0, 1.0), "diameter_mm": BORE_MM, "length_mm": HIGH_MM}
    return Insert(shape=shape, **(known | more))


def held(part, *inserts, shrinkage=0.0, wall_mm=WALL_MM):
    return hold_inserts(part, inserts, draw=Z, wall_mm=wall_mm, casting_shrinkage_ratio=shrinkage)


def test_a_rod_fills_the_drawn_axle_hole_and_sits_five_mm_deep_in_both_halves():
    part = wheel()
    made = held(part, insert())
    assert made.shot is part
    low, high = made.cored.mesh.vertices_mm.min(axis=0), made.cored.mesh.vertices_mm.max(axis=0)
    assert (low[2], high[2]) == pytest.approx((-5.0, HIGH_MM + 5.0))
    assert mesh_volume_mm3(made.cored.mesh) == pytest.approx(DISC_MM3 + rod_mm3(BORE_MM, 10.0), rel=1e-9)
    assert made.taken_mm3 == pytest.approx(rod_mm3(BORE_MM, HIGH_MM + 10.0), rel=1e-9)


def test_a_rod_through_a_part_without_a_hole_is_taken_off_the_shot():
    made = held(wheel(drilled=False), insert())
    assert mesh_volume_mm3(made.shot.mesh) == pytest.approx(DISC_MM3 - rod_mm3(BORE_MM, HIGH_MM), rel=1e-9)
    left_mm3 = mesh_volume_mm3(made.cored.mesh) - made.taken_mm3
    assert left_mm3 == pytest.approx(mesh_volume_mm3(made.shot.mesh), rel=1e-9)


def test_seats_are_drawn_smaller_by_what_the_casting_shrinks():
    """The silicone is smaller than the master by its own shrinkage alone, so the seat ends as the rod is."""
    made = held(wheel(), insert(), shrinkage=0.01)
    top = made.cored.mesh.vertices_mm[made.cored.mesh.vertices_mm[:, 2] > HIGH_MM + 4.0]
    assert 2 * np.hypot(top[:, 0], top[:, 1]).max() == pytest.approx(BORE_MM * 0.99)


def test_a_tube_leaves_a_pin_of_silicone_in_its_bore():
    made = held(wheel(), insert(InsertShape.TUBE, diameter_mm=6.0, bore_mm=BORE_MM))
    assert mesh_volume_mm3(made.cored.mesh) == pytest.approx(DISC_MM3 - rod_mm3(BORE_MM, HIGH_MM), rel=1e-6)
    assert mesh_volume_mm3(made.shot.mesh) == pytest.approx(DISC_MM3 - rod_mm3(6.0, HIGH_MM), rel=1e-6)
    assert made.taken_mm3 == pytest.approx(rod_mm3(6.0, HIGH_MM) - rod_mm3(BORE_MM, HIGH_MM), rel=1e-9)
    assert count_bodies(to_solid(made.cored.mesh)) == 1


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (insert(diameter_mm=40.0), "is larger than the part"),
        (insert(at_mm=(60.0, 0.0, 5.0)), "hangs in air"),
        (insert(length_mm=5.0), "ends inside the part"),
        (insert(along=(1.0, 0.0, 0.0), length_mm=40.0), "lies across the draw"),
    ],
)
def test_an_insert_that_cannot_be_held_is_refused_with_its_size(given, words):
    with pytest.raises(BadRequest, match=words) as refused:
        held(wheel(drilled=False), given)
    assert "mm" in refused.value.problem
    assert refused.value.remedy


def test_a_rod_needs_silicone_to_sit_in():
    with pytest.raises(BadRequest, match="silicone to sit in"):
        held(wheel(), insert(), wall_mm=3.0)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"shape": InsertShape.TUBE}, "with a bore of 0"),
        ({"shape": InsertShape.TUBE, "bore_mm": 5.0}, "with a bore of 5"),
        ({"bore_mm": 2.0}, "with a bore"),
        ({"along": (0.0, 0.0, 0.0)}, "no direction"),
        ({"length_mm": 0.0}, "is no size"),
    ],
)
def test_sizes_that_cannot_be_meant_are_refused(more, words):
    with pytest.raises(BadJob, match=words):
        insert(**more)


def test_no_film_is_left_over_the_ends_of_a_tube():
    """Neither the shot nor the master has a face within the bore or the tube's own ring."""
    made = held(wheel(), insert(InsertShape.TUBE, diameter_mm=6.0, bore_mm=BORE_MM), shrinkage=0.004)
    for part, radius_mm in ((made.shot, 3.0), (made.cored, BORE_MM / 2 * 0.996)):
        far = np.hypot(part.mesh.vertices_mm[:, 0], part.mesh.vertices_mm[:, 1])
        assert far.min() == pytest.approx(radius_mm, rel=2e-3)
        assert to_solid(part.mesh).genus() == 1
