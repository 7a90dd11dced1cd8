"""Whether two halves come apart, on shapes whose handles are known without our code."""

import manifold3d
import numpy as np
import pytest

from firstpour.parting.draw import draw_along
from firstpour.parting.halves import Halves
from firstpour.parting.opening import COMES_APART, Shut, what_shuts
from firstpour.parting.parting import lay_parting, lay_parting_that_opens
from firstpour.parting.values import MouldKind
from mould_shapes import Z, as_part, torus

CUBE = manifold3d.Manifold.cube((20.0, 20.0, 20.0), True)


def hole(x_mm: float) -> manifold3d.Manifold:
    return manifold3d.Manifold.cylinder(40.0, 2.0, 2.0, 24, True).translate((x_mm, 0.0, 0.0))


def halves_of(upper: manifold3d.Manifold, lower: manifold3d.Manifold) -> Halves:
    """Halves of which only the solids matter here."""
    laid = lay_parting(as_part("torus", torus()), draw_along(as_part("torus", torus()), Z), kind=MouldKind.TRAYS)
    assert laid.halves is not None
    return Halves(upper=upper, lower=lower, seam_mm=(), sheet=laid.halves.sheet, enclosed_mm3=0.0)


@pytest.mark.parametrize(
    ("upper", "rings", "loose"),
    [
        (CUBE, 0, 0),
        (CUBE - hole(0.0), 1, 0),
        (CUBE - hole(-5.0) - hole(5.0), 2, 0),
        (CUBE + manifold3d.Manifold.cube((2.0, 2.0, 2.0)).translate((20.0, 0.0, 0.0)), 0, 1),
        (CUBE + manifold3d.Manifold.cube((0.5, 0.5, 0.5)).translate((20.0, 0.0, 0.0)), 0, 0),
        (CUBE - manifold3d.Manifold.sphere(3.0, 16), 0, 0),
        (CUBE + manifold3d.Manifold.cube((9.0, 9.0, 1e-7)).translate((20.0, 0.0, 0.0)), 0, 0),
        (CUBE + manifold3d.Manifold.cube((9.0, 9.0, 1e-7)).translate((10.0, 0.0, 0.0)), 0, 0),
    ],
)
def test_holes_through_a_half_are_rings_and_bodies_beside_it_are_lumps(upper, rings, loose):
    shut = what_shuts(halves_of(upper, CUBE))
    assert (shut.rings, shut.loose) == (rings, loose)
    assert bool(shut) == (rings + loose > 0)
    assert bool(shut.words) == bool(shut)


def handle_on_a_slab() -> manifold3d.Manifold:
    """A slab with an upright half ring on it: along z silicone closes through the handle."""
    ring = torus().rotate((90.0, 0.0, 0.0))
    return manifold3d.Manifold.cube((60.0, 30.0, 8.0), True) + ring.trim_by_plane((0.0, 0.0, 1.0), 0.0)


def test_a_handle_across_the_draw_makes_a_block_and_says_what_closes():
    part = as_part("handle", handle_on_a_slab())
    draw = draw_along(part, Z)
    laid = lay_parting_that_opens(part, draw, kind=MouldKind.TRAYS)
    assert laid.kind is MouldKind.BLOCK
    assert laid.halves is None
    assert laid.shut.rings >= 1
    asked = lay_parting(part, draw, kind=MouldKind.TRAYS)
    assert asked.kind is MouldKind.TRAYS
    assert asked.shut == laid.shut


def test_a_ring_lying_flat_comes_apart():
    part = as_part("torus", torus())
    laid = lay_parting_that_opens(part, draw_along(part, Z), kind=MouldKind.TRAYS)
    assert laid.kind is MouldKind.TRAYS
    assert laid.shut == COMES_APART
    assert np.isfinite(laid.surface_height_mm(np.zeros((1, 2)))).all()


def test_what_shuts_is_said_in_words():
    assert Shut(rings=1).words == "a ring of silicone closes around the part"
    assert Shut(rings=3, loose=1).words == (
        "3 rings of silicone close around the part and a lump of silicone hangs on neither half"
    )
    assert Shut(why="no surface can be laid").words == "no surface can be laid"
