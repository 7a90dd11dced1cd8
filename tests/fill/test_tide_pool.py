"""The four demo parts: the pour that is chosen, its openings, and the filling run again with them."""

import numpy as np
import pytest

from firstpour.fill.channels import propose_channels
from firstpour.fill.pockets import find_pockets
from firstpour.fill.pour import rank_pours
from firstpour.fill.values import SMALL_AIR_MM3, SMALL_SHOW_AIR_MM3, PlaceKind
from firstpour.samples.samples import Sample, sample_part
from firstpour.values import Severity

BAD = (PlaceKind.SHOW, PlaceKind.KEEP_CLEAR)


@pytest.mark.parametrize("sample", list(Sample))
def test_the_chosen_pour_of_a_demo_part_leaves_no_air_on_show_faces(sample):
    part = sample_part(sample, faces=12_000)
    best = rank_pours(part, directions=150)[0]
    plan = propose_channels(part, up=best.up, draw=np.array([0.0, 0.0, 1.0]))
    assert plan.gate is not None
    assert not [f for f in plan.findings if f.severity is Severity.ERROR]
    assert all(route.place not in BAD for route in (plan.gate, *plan.vents))
    vents = tuple(vent.at_mm for vent in plan.vents)
    again = find_pockets(part, up=best.up, gate_mm=plan.gate.at_mm, vents_mm=vents, resolution=192)
    assert again.trapped_show_mm3 <= SMALL_SHOW_AIR_MM3
    assert all(pocket.volume_mm3 <= SMALL_AIR_MM3 for pocket in again.pockets)


def test_the_sea_star_on_its_back_wants_openings_on_show_faces_and_is_ranked_lower():
    part = sample_part(Sample.SEA_STAR, faces=12_000)
    pours = rank_pours(part, directions=150)
    assert pours[0].openings_on_show == 0
    shown = next(p for p in pours if p.up == pytest.approx([0, 0, 1]))
    assert shown.openings_on_show > 0
    assert pours.index(shown) > 20
