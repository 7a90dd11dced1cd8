"""Which draw is taken where the best one gives no sound seam."""

from dataclasses import replace

import manifold3d
import numpy as np
import pytest

from firstpour.parting.draw import draw_along
from firstpour.parting.sound_draw import choose_sound_draw, parts_soundly
from firstpour.parting.stretch import Give
from firstpour.parting.values import DrawOrigin, MouldKind
from mould_shapes import X, Y, Z, as_part, torus


def ranked(part, *directions, **changed):
    """Rows as a ranking gives them, in the order of the directions; all but the first named by the part."""
    rows = [replace(draw_along(part, d), origin=DrawOrigin.FLAT) for d in directions]
    return [rows[0], *(replace(row, **changed) for row in rows[1:])]


def cup():
    """A cup with a ring for a handle: along z silicone closes a ring through it, along y nothing is locked."""
    body = manifold3d.Manifold.cylinder(30.0, 12.0, 12.0, 48)
    ring = torus().rotate((90.0, 0.0, 0.0)).scale((0.7, 0.7, 0.7)).translate((16.0, 0.0, 15.0))
    return (body + ring) - manifold3d.Manifold.cylinder(30.0, 10.0, 10.0, 48).translate((0.0, 0.0, 3.0))


def test_a_cup_with_a_handle_is_parted_through_the_handle_where_its_axis_locks_it():
    part = as_part("cup", cup())
    rows = ranked(part, Z, Y)
    along_axis = replace(rows[0], locked_loops=0)  # as a coarse ranking may have it
    assert not parts_soundly(part, draw_along(part, Z), kind=MouldKind.TRAYS)
    taken = choose_sound_draw(part, [along_axis, rows[1]], give=Give(elongation_ratio=6.0))
    assert abs(float(taken.direction @ Y)) == pytest.approx(1.0)


def test_a_draw_that_stretches_further_than_allowed_or_is_locked_is_not_taken_instead():
    part = as_part("cup", cup())
    rows = ranked(part, Z, Y)
    first = replace(rows[0], locked_loops=0)
    for row in (replace(rows[1], stretch_ratio=9.0), replace(rows[1], locked_loops=1)):
        taken = choose_sound_draw(part, [first, row])
        assert abs(float(taken.direction @ Z)) == pytest.approx(1.0)


def test_the_best_draw_is_kept_where_it_is_sound():
    part = as_part("torus", torus())
    taken = choose_sound_draw(part, ranked(part, Z, X))
    assert abs(float(taken.direction @ Z)) == pytest.approx(1.0)
    assert np.isfinite(taken.undercut_mm3)
