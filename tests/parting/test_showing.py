"""What the halves show, held to closed forms."""

import manifold3d
import numpy as np
import pytest

from firstpour.mould.mould_findings import thin_findings
from firstpour.parting.draw import draw_along
from firstpour.parting.parting import lay_parting
from firstpour.parting.values import MouldKind
from firstpour.surface.overlap import overlap_mm3
from firstpour.surface.solids import count_bodies, from_solid
from firstpour.surface.thickness import thin_places
from firstpour.values import Mesh
from mould_shapes import X, Z, as_part, sample

BOX = manifold3d.Manifold.cube


def laid(part, direction, kind=MouldKind.TRAYS):
    return lay_parting(part, draw_along(part, direction), kind=kind)


def test_the_seam_of_a_ball_is_as_long_as_its_great_circle():
    parting = laid(sample("sphere"), Z)
    assert parting.showing.seam_length_mm == pytest.approx(64 * 2 * 15.0 * np.sin(np.pi / 64), rel=1e-6)
    assert parting.showing.steep_mm2 == 0.0
    assert parting.showing.fin is None
    assert parting.showing.groove is None


@pytest.mark.parametrize(("name", "direction"), [("torus", Z), ("L-bracket", X), ("bollard", Z)])
def test_the_surface_is_at_least_as_large_as_its_plan(name, direction):
    parting = laid(sample(name), direction)
    assert parting.showing.surface_mm2 >= parting.halves.sheet.region.area * (1 - 1e-9)


def test_a_slot_thinner_than_the_least_wall_is_told_with_its_width_and_area():
    """A slot 0.8 mm wide, 10 mm deep and 20 mm long, open above: 200 mm² of thin silicone."""
    slotted = BOX((30.0, 20.0, 15.0)) - BOX((0.8, 30.0, 11.0)).translate((14.0, -5.0, 5.0))
    parting = laid(as_part("slotted", slotted), Z)
    assert parting.showing.groove.least_mm == pytest.approx(0.8)
    assert parting.showing.groove.area_mm2 == pytest.approx(200.0, rel=0.1)
    assert abs(parting.showing.groove.at_mm[0] - 14.4) < 0.01
    told = [finding for finding in thin_findings(parting) if finding.code == "thin-silicone"]
    assert "0.80 mm" in told[0].what


def test_a_plate_is_thin_over_its_area_and_as_thick_as_it_is():
    plate = from_solid(BOX((20.0, 30.0, 1.2)).rotate((0.0, 15.0, 0.0)))
    places = thin_places(plate, below_mm=1.5, pitch_mm=0.5)
    assert places.thickness_mm == pytest.approx(1.2)
    assert places.area_mm2.sum() == pytest.approx(600.0, rel=0.05)
    assert len(thin_places(plate, below_mm=1.1, pitch_mm=0.5).thickness_mm) == 0


def test_two_boxes_that_lie_in_each_other_overlap_by_their_common_volume():
    """Taken as one surface, 4 × 10 × 10 mm³ are inside twice; turned inside out, all of it is."""
    one = from_solid(BOX((10.0, 10.0, 10.0)))
    two = Mesh(
        vertices_mm=np.concatenate([one.vertices_mm, one.vertices_mm + np.array([6.0, 0.0, 0.0])]),
        faces=np.concatenate([one.faces, one.faces + len(one.vertices_mm)]),
    )
    assert overlap_mm3(one, Z) == 0.0
    assert overlap_mm3(two, Z) == pytest.approx(400.0, rel=0.02)
    assert overlap_mm3(Mesh(vertices_mm=one.vertices_mm, faces=one.faces[:, ::-1]), Z) == pytest.approx(
        1000.0, rel=0.02
    )


def test_a_tyre_with_treads_opens_along_its_axle_with_two_plain_loops():
    """Blocks with cross grooves and one groove around, which is undercut: the seam runs level along its edge."""
    cylinder = manifold3d.Manifold.cylinder
    tyre = cylinder(16.0, 25.0, 25.0, 96) - cylinder(40.0, 15.0, 15.0, 96, True)
    for k in range(18):
        tyre -= BOX((6.0, 2.5, 40.0), True).translate((26.0, 0.0, 0.0)).rotate((0.0, 0.0, 20.0 * k))
    ring = cylinder(2.0, 30.0, 30.0, 96) - cylinder(9.0, 23.0, 23.0, 96, True)
    parting = laid(as_part("tyre", tyre - ring.translate((0.0, 0.0, 7.0))), Z)
    assert parting.smooth
    assert len(parting.seam_mm) == 2
    assert all(np.ptp(loop[:, 2]) < 1e-9 for loop in parting.seam_mm)
    for half in (parting.halves.upper, parting.halves.lower):
        assert count_bodies(half) == 1


@pytest.mark.parametrize(("long_mm", "told"), [(2.0, False), (6.0, True)])
def test_a_groove_is_told_from_two_square_millimetres_on(long_mm, told):
    """A slot of 0.8 mm, 0.6 mm deep: 1.2 mm² are not told, 3.6 mm² are, and what to do about a groove is said."""
    slot = manifold3d.Manifold.cube((0.8, long_mm, 10.0)).translate((9.6, 5.0, 9.4))
    part = as_part("slotted", manifold3d.Manifold.cube((20.0, 20.0, 10.0)) - slot)
    parting = lay_parting(part, draw_along(part, Z), kind=MouldKind.TRAYS)
    assert (parting.showing.groove is not None) is told
    assert any("widen the groove" in finding.remedy for finding in thin_findings(parting)) is told
