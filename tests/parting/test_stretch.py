"""What the silicone must do at each undercut: which way, in which half, and how much."""

import manifold3d
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from draw_shapes import ORDINARY, grooved_rod, necked_pot, posts_between_plates
from firstpour.parting.draw import draw_along
from firstpour.parting.draw_findings import draw_findings
from firstpour.parting.flat_back import back_down
from firstpour.parting.stretch import MOST_STRETCH, Give, band_mm
from firstpour.parting.values import Half, Opening, Way
from firstpour.samples.samples import Sample, sample_part
from firstpour.values import Severity
from mould_shapes import FOOT_MM, NECK_MM, X, Y, Z, as_part, draw_of


def drawn(solid, direction=Z, **how):
    return draw_along(as_part("part", solid), direction, **how)


def test_the_plug_of_a_jug_of_44_in_a_neck_of_36_is_squeezed_by_18_per_cent():
    draw = drawn(ORDINARY["jug"]())
    assert draw.squeeze_ratio == pytest.approx(8.0 / 44.0, abs=0.005)
    assert draw.stretch_ratio == pytest.approx((44.0 / 36.0) ** 2 - 1.0, abs=0.02)
    assert draw.regions[0].stretch.way is Way.PLUG


def test_the_lip_of_a_bollard_leaves_over_its_foot_not_over_its_wider_head():
    (region,) = draw_of("bollard", (0.0, 0.0, 1.0)).regions
    assert region.stretch.way is Way.LIP
    assert region.stretch.half is Half.LOWER
    assert region.stretch.stretch_ratio == pytest.approx(FOOT_MM / NECK_MM - 1.0, abs=0.005)


@given(neck_mm=st.floats(5.0, 30.0), undercut_mm=st.floats(0.5, 10.0), wall_mm=st.floats(3.0, 20.0))
@settings(max_examples=12, deadline=None)
def test_a_closed_lip_stretches_by_its_perimeters_whatever_the_wall(neck_mm, undercut_mm, wall_mm):
    draw = drawn(grooved_rod(neck_mm, undercut_mm), give=Give(wall_mm=wall_mm))
    assert draw.stretch_ratio == pytest.approx(undercut_mm / neck_mm, abs=0.02, rel=0.02)


@given(plug_mm=st.floats(8.0, 30.0), share=st.floats(0.05, 0.5))
@settings(max_examples=12, deadline=None)
def test_a_plug_is_squeezed_by_its_perimeters(plug_mm, share):
    draw = drawn(necked_pot(plug_mm, share * plug_mm))
    assert draw.squeeze_ratio == pytest.approx(share, abs=0.01)


@pytest.mark.parametrize("posts", [1, 2, 3, 5])
def test_each_post_after_the_first_locks_a_ring(posts):
    draw = drawn(posts_between_plates(posts))
    assert draw.locked_loops == posts - 1
    assert (draw.regions[0].stretch.way is Way.LOOP) == (posts > 1)


@pytest.mark.parametrize(("name", "axis", "loops"), [("wheel", X, 6), ("spoked wheel", X, 7), ("lattice", Z, 24)])
def test_a_hole_or_window_crossed_is_a_locked_ring(name, axis, loops):
    """Of the wheel across its axle the bore and five windows; of the lattice four holes in each of six webs."""
    assert drawn(ORDINARY[name](), axis).locked_loops == pytest.approx(loops, abs=1 if name == "spoked wheel" else 0)


@pytest.mark.parametrize("axis", [X, Y])
def test_an_upright_ring_is_locked_and_a_lying_one_is_free(axis):
    assert draw_of("torus", tuple(axis.tolist())).locked_loops == 1
    assert draw_of("torus", (0.0, 0.0, 1.0)).locked_loops == 0


def test_a_free_tongue_gives_less_than_a_core_buried_on_its_side():
    notch = manifold3d.Manifold.cube((3.0, 40.0, 4.0), True).translate((14.0, 0.0, 0.0))
    shallow = drawn(manifold3d.Manifold.cube((30.0, 30.0, 20.0), True) - notch)
    assert shallow.regions[0].stretch.way is Way.TONGUE
    assert 0.0 < shallow.stretch_ratio < 0.2
    buried = drawn(ORDINARY["jug"](), X)
    assert buried.regions[0].stretch.way is Way.TONGUE
    assert buried.stretch_ratio > 1.0


@given(deep_mm=st.floats(1.0, 6.0), more_mm=st.floats(1.0, 6.0))
@settings(max_examples=8, deadline=None)
def test_a_deeper_notch_never_stretches_less(deep_mm, more_mm):
    block, tall = manifold3d.Manifold.cube((40.0, 30.0, 20.0), True), 6.0

    def notched(deep):
        return block - manifold3d.Manifold.cube((deep, 40.0, tall), True).translate((20.0 - deep / 2, 0.0, 0.0))

    less, more = (drawn(notched(deep)).stretch_ratio for deep in (deep_mm, deep_mm + more_mm))
    assert less <= more + 0.02


def test_a_soft_copy_takes_its_share():
    """Lamé: a core as stiff as the ring around it takes a quarter, a ring as stiff as its plug three quarters."""
    lip, plug = grooved_rod(15.0, 4.0), necked_pot(22.0, 4.0)
    soft = Give(copy_mpa=Give().silicone_mpa)
    assert drawn(lip, give=soft).stretch_ratio == pytest.approx(0.75 * drawn(lip).stretch_ratio)
    assert drawn(plug, give=soft).squeeze_ratio == pytest.approx(0.25 * drawn(plug).squeeze_ratio)


def test_an_open_face_is_undercut_down_to_the_plane_of_its_back():
    """A mushroom on its stalk is drawn both ways without undercut; on a table silicone flows under its cap."""
    foot = manifold3d.Manifold.cylinder(4.0, 14.0, 14.0, 64)
    cap = manifold3d.Manifold.cylinder(6.0, 16.0, 16.0, 64).translate((0.0, 0.0, 4.0))
    part = as_part("stand", foot + cap)
    assert draw_along(part, Z).undercut_mm3 == pytest.approx(0.0, abs=1.0)
    open_face = back_down(part, draw_along(part, Z))
    assert open_face.opening is Opening.OPEN_FACE
    assert open_face.undercut_mm3 == pytest.approx(np.pi * (16.0**2 - 14.0**2) * 4.0, rel=0.01)
    assert open_face.stretch_ratio == pytest.approx(16.0 / 14.0 - 1.0, abs=0.01)
    assert {region.stretch.half for region in open_face.regions} == {Half.UPPER}
    assert all((region.faces >= 0).all() for region in open_face.regions)


def test_spokes_on_a_table_lock_the_silicone_of_an_open_face():
    rim = manifold3d.Manifold.cylinder(8.0, 40.0, 40.0, 96) - manifold3d.Manifold.cylinder(40.0, 32.0, 32.0, 96, True)
    spoke = manifold3d.Manifold.cube((66.0, 6.0, 3.0), True).translate((0.0, 0.0, 5.0))
    wheel = rim + spoke
    assert drawn(wheel).locked_loops == 0
    assert drawn(wheel, opening=Opening.OPEN_FACE).locked_loops == 1


def test_no_undercut_stretches_nothing():
    draw = draw_of("cube", (0.0, 0.0, 1.0))
    assert (draw.stretch_ratio, draw.squeeze_ratio, draw.locked_loops) == (0.0, 0.0, 0)
    assert draw_findings(draw, Give()) == ()


def codes(draw, give=None):
    return {finding.code: finding for finding in draw_findings(draw, give or Give())}


def test_findings_say_what_is_locked_and_what_stretches_too_far():
    locked = codes(draw_of("torus", (1.0, 0.0, 0.0)))["locked"]
    assert "1 ring" in locked.what or "a ring" in locked.what
    easy = codes(draw_of("bollard", (0.0, 0.0, 1.0)))["undercut"]
    assert easy.severity is Severity.INFO
    assert "20 %" in easy.what
    stiff = Give(elongation_ratio=0.3)
    assert codes(draw_of("bollard", (0.0, 0.0, 1.0)), stiff)["undercut"].severity is Severity.WARNING


def test_the_allowed_stretch_is_a_third_of_the_elongation_short_of_tearing():
    assert Give(elongation_ratio=3.0).allowed_ratio == pytest.approx(1.0)
    assert Give(elongation_ratio=1.5).allowed_ratio == pytest.approx(0.5)
    assert Give(elongation_ratio=9.0, tear_n_mm=3.0).allowed_ratio < 1.1


@given(radius=st.floats(5.0, 60.0))
@settings(max_examples=20, deadline=None)
def test_a_band_around_a_disc_is_its_circumference(radius):
    places = np.arange(-70, 71)
    disc = places[:, None] ** 2 + places[None, :] ** 2 <= radius**2
    assert band_mm(disc, pitch_mm=0.5) == pytest.approx(np.pi * radius, rel=0.04)


def test_a_band_around_little_or_nothing_has_a_length():
    shape = np.zeros((5, 9), bool)
    assert band_mm(shape, pitch_mm=1.0) > 0.0
    shape[2, 1:8] = True
    assert band_mm(shape, pitch_mm=1.0) == pytest.approx(12.0 + np.pi / 2)


def test_stretch_has_a_top():
    assert drawn(necked_pot(20.0, 17.0)).stretch_ratio <= MOST_STRETCH


def test_the_shallow_folds_of_a_rough_mesh_are_passed_by_the_skin_of_the_silicone():
    """The bollard's mesh has folds of a tenth of a millimetre along its draw: no neck holds anything there."""
    draw = draw_along(sample_part(Sample.BOLLARD), np.array([0.0, 1.0, 0.0]))
    assert 0.0 < draw.undercut_depth_mm < 0.2
    assert draw.stretch_ratio == pytest.approx(draw.undercut_depth_mm / 8.0, rel=0.2)
