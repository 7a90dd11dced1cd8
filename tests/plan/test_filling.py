"""Which pour of those ranked is taken, and what is said of it: the order by hand, the channels those of the case."""

from dataclasses import dataclass
from types import SimpleNamespace as Some

import numpy as np
import pytest

from firstpour.fill.breathing import Mix
from firstpour.fill.values import MadeAs, PourKind
from firstpour.job.job import PartRequest
from firstpour.mould.settings import MouldSettings
from firstpour.parting.values import MouldKind
from firstpour.plan import filling
from firstpour.plan.filling import plan_fill, trouble, wedge_piece
from firstpour.surface.solids import from_solid
from mould_shapes import X, Z, manifold3d

REQUEST = PartRequest(name="thing")


def pour(number, **more):
    """A ranked pour whose direction carries its number."""
    return Some(
        up=np.array([float(number), 0.0, 1.0]),
        kind=PourKind.FLAT,
        tilt_deg=0.0,
        level_roof_mm2=None,
        **more,
    )


def pours(count, *, on_edge=()):
    ranked = [pour(number) for number in range(count)]
    for number in on_edge:
        ranked[number].kind = PourKind.ON_EDGE
    return tuple(ranked)


def laid(up=Z, *, air_mm3=0.0, show_mm3=0.0, gate="gate", made_as=(), findings=()):
    """Channels as they were laid for one pour."""
    return Some(
        gate=gate,
        vented=Some(trapped_mm3=air_mm3, trapped_show_mm3=show_mm3, up=up),
        channels=tuple(Some(made_as=way) for way in made_as),
        findings=findings,
    )


@pytest.fixture
def fill(monkeypatch):
    """Plan a fill of the pours ranked, where channels lie as told for the pours of those numbers; else in trouble."""

    def planned(ranked=(), *, without_trouble=(), least=None, kind=MouldKind.TRAYS, request=REQUEST):
        tried = []

        def channels(_part, *, up, **_):
            tried.append(up)
            number = int(up[0])
            air_mm3 = 0.0 if number in without_trouble else 40.0 if number == least else 4000.0
            return laid(up, air_mm3=air_mm3)

        monkeypatch.setattr(filling, "rank_pours", lambda *_, **__: tuple(ranked))
        monkeypatch.setattr(filling, "propose_channels", channels)
        monkeypatch.setattr(filling, "surface_of", lambda _: None)
        parting = Some(kind=kind, draw=Some(direction=X), seam_on_part_mm=())
        return plan_fill(None, parting, request, MouldSettings()), tried

    return planned


def numbers(ups):
    return [int(up[0]) for up in ups]


def told(planned):
    return numbers([one.up for one in planned.pours])


def test_the_first_pour_without_trouble_is_taken_and_no_other_tried(fill):
    planned, tried = fill(pours(10), without_trouble={1, 2})
    assert numbers(tried) == [0, 1]
    assert int(planned.up[0]) == 1
    assert told(planned) == [1, 0, 2, 3, 4, 5, 6, 7]


def test_of_pours_in_trouble_six_are_tried_and_the_least_bad_taken(fill):
    planned, tried = fill(pours(10), least=2)
    assert numbers(tried) == [0, 1, 2, 3, 4, 5]
    assert told(planned) == [2, 0, 1, 3, 4, 5, 6, 7]


@pytest.mark.parametrize(
    ("on_edge", "tried_first", "told_then"),
    [
        ((6,), [0, 1, 2, 3, 4, 6], [0, 1, 2, 3, 4, 6, 5, 7]),
        ((8, 9), [0, 1, 2, 3, 4, 8], [0, 1, 2, 3, 4, 8, 5, 6]),
        ((5,), [0, 1, 2, 3, 4, 5], [0, 1, 2, 3, 4, 5, 6, 7]),
        ((3,), [0, 1, 2, 3, 4, 5], [0, 1, 2, 3, 4, 5, 6, 7]),
        ((), [0, 1, 2, 3, 4, 5], [0, 1, 2, 3, 4, 5, 6, 7]),
    ],
)
def test_one_pour_on_edge_is_always_among_those_tried(fill, on_edge, tried_first, told_then):
    planned, tried = fill(pours(10, on_edge=on_edge))
    assert numbers(tried) == tried_first
    assert told(planned) == told_then


def test_a_pour_on_edge_that_was_ranked_late_loses_none_of_the_others(fill):
    planned, _ = fill(pours(8, on_edge=(6,)))
    assert told(planned) == [0, 1, 2, 3, 4, 6, 5, 7]


def test_the_makers_own_pour_stands_and_is_not_ranked(fill):
    planned, tried = fill(pours(3), request=PartRequest(name="thing", up=(5.0, 0.0, 0.0)))
    assert numbers(tried) == [5]
    assert planned.pours == ()
    assert planned.findings == ()


def test_a_block_is_poured_along_its_draw(fill):
    planned, (only,) = fill(pours(3), kind=MouldKind.BLOCK)
    np.testing.assert_array_equal(only, X)
    assert planned.pours == ()


def test_an_open_face_mould_is_open_where_it_is_poured(fill):
    assert fill(pours(3), kind=MouldKind.OPEN_FACE) == (None, [])


@pytest.mark.parametrize(("roof_mm2", "said"), [(150.0, "2 cm²"), (320.0, "3 cm²"), (99.0, None), (None, None)])
def test_a_level_roof_of_a_square_centimetre_and_more_is_told(fill, roof_mm2, said):
    """In whole cm²: 320 mm² are 3 cm². It is that of the pour taken."""
    ranked = pours(2)
    ranked[0].level_roof_mm2 = roof_mm2
    planned, _ = fill(ranked, without_trouble={0})
    assert [finding.what.partition(" of")[0] for finding in planned.findings] == ([] if said is None else [said])


@pytest.mark.parametrize(
    ("air_mm3", "steps"), [(0.0, 0.0), (4.0, 0.0), (6.0, 0.0), (12.7, 0.5), (40.0, 1.0), (400.0, 2.0), (4000.0, 3.0)]
)
def test_air_is_trouble_by_half_powers_of_ten_above_what_may_stay(air_mm3, steps):
    """log10(air / 4 mm³) to the nearest half: 12.7 mm³ are 10^0.5 × 4, 40 mm³ are ten times 4."""
    assert trouble(laid(air_mm3=air_mm3)) == (0, steps, 0)


def test_air_on_show_counts_tenfold_and_the_worse_of_both_counts():
    assert trouble(laid(air_mm3=4.0, show_mm3=4.0)) == (0, 1.0, 0)
    assert trouble(laid(air_mm3=400.0, show_mm3=4.0)) == (0, 2.0, 0)


def test_no_gate_and_every_channel_through_one_half_are_trouble():
    assert trouble(laid(gate=None)) == (1, 0.0, 0)
    assert trouble(laid(made_as=list(MadeAs))) == (0, 0.0, 2)
    assert trouble(laid(made_as=[MadeAs.DRILLED, MadeAs.BOTH_HALVES, MadeAs.ON_MASTER])) == (0, 0.0, 1)


def box_piece(*size_mm):
    return Some(mesh=from_solid(manifold3d.Manifold.cube(tuple(float(side) for side in size_mm))))


def test_the_wedge_foot_is_as_long_and_as_wide_as_the_largest_sides_of_the_mould():
    """Sides of 60, 50 and 45 at the most: 60 long, 50 wide, and the thick end 60 tan 10° above the thin one."""
    mould = Some(pieces=(box_piece(60, 40, 20), box_piece(20, 50, 30), box_piece(55, 10, 45)))
    tilted = [pour(0), pour(1)]
    tilted[0].kind, tilted[0].tilt_deg = PourKind.TILTED, 10.0
    foot = wedge_piece(Some(pours=tuple(tilted)), mould)
    length, width, height = np.ptp(foot.mesh.vertices_mm, axis=0)
    assert (length, width) == pytest.approx((60.0, 50.0))
    top = foot.mesh.vertices_mm[foot.mesh.vertices_mm[:, 2] > 0.0][:, 2]
    assert np.ptp(top) == pytest.approx(60.0 * np.tan(np.radians(10.0)))
    assert height == pytest.approx(top.max())
    assert foot.volume_mm3 == pytest.approx(60.0 * 50.0 * (top.min() + top.max()) / 2)


def test_only_a_tilted_pour_wants_a_wedge():
    mould = Some(pieces=(box_piece(60, 40, 20),))
    assert wedge_piece(None, mould) is None
    assert wedge_piece(Some(pours=()), mould) is None
    assert wedge_piece(Some(pours=pours(2)), mould) is None


def test_a_wedge_to_print_weighs_as_much_as_one_channel_through_one_half():
    """So a box that stands flat with one hole to pierce is kept; two are worth the wedge."""
    flat, tilted = (Some(kind=kind) for kind in (PourKind.FLAT, PourKind.TILTED))

    def weighed(found, pour, slow=0):
        return filling._with_its_stand(found, pour, slow=slow)

    assert weighed((0, 0.0, 1), flat) == weighed((0, 0.0, 0), tilted) == (0, 0.0, 1, 0)
    assert weighed((0, 0.0, 2), flat) > weighed((0, 0.0, 0), tilted)
    assert weighed((0, 0.0, 2), None) == (0, 0.0, 2, 0)
    # a slow one weighs as much as so many channels, and of equals the quicker is less trouble
    assert weighed((0, 0.0, 2), flat) < weighed((0, 0.0, 0), tilted, slow=1) < weighed((0, 0.0, 0), tilted, slow=2)
    assert weighed((0, 0.0, 1), flat) > weighed((0, 0.0, 0), flat, slow=0)


# --- slow pours, and what lies beside ------------------------------------------------------------------

MIX = Mix(viscosity_pa_s=3.0, density_g_ml=1.05)


@dataclass(frozen=True)
class Surface:
    """A parting surface, as far as it knows of neighbours."""

    beside: bool = False


@pytest.fixture
def slow_fill(monkeypatch):
    """Plan a fill of pours without trouble that take so many seconds each, by their number; the rest take 1000."""

    def planned(ranked, seconds, *, mix=MIX, kind=MouldKind.TRAYS, request=REQUEST, **more):
        tried, surfaces = [], []

        def channels(_part, *, up, surface, **_):
            tried.append(up)
            surfaces.append(surface)
            return laid(up)

        monkeypatch.setattr(filling, "rank_pours", lambda *_, **__: tuple(ranked))
        monkeypatch.setattr(filling, "propose_channels", channels)
        monkeypatch.setattr(filling, "surface_of", lambda _: Surface())
        monkeypatch.setattr(
            filling,
            "flow_through",
            lambda part, plan, liquid, **_: Some(fill_s=seconds.get(int(plan.vented.up[0]), 1000.0)),
        )
        parting = Some(kind=kind, draw=Some(direction=X), seam_on_part_mm=())
        made = plan_fill(None, parting, request, MouldSettings(), mix=mix, **more)
        return made, tried, surfaces

    return planned


def upright(count, *, flat=()):
    ranked = pours(count, on_edge=range(count))
    for number in flat:
        ranked[number].kind = PourKind.FLAT
    return ranked


def test_where_the_best_pour_fills_slowly_two_that_lie_flat_are_tried_as_well(slow_fill):
    """Six stand on edge and take 1000 s each, more than twice and less than eight times 240; of the flat ones 60."""
    made, tried, _ = slow_fill(upright(12, flat=(8, 9, 10)), {8: 300.0, 9: 60.0, 10: 1.0})
    assert numbers(tried) == [0, 1, 2, 3, 4, 5, 8, 9]
    assert int(made.up[0]) == 9
    assert numbers(pour.up for pour in made.pours)[:3] == [9, 0, 1]


def test_a_quick_pour_without_trouble_ends_the_search_and_so_does_one_of_which_the_mix_is_not_known(slow_fill):
    _, tried, _ = slow_fill(upright(12, flat=(8,)), {1: 200.0})
    assert numbers(tried) == [0, 1]
    _, tried, _ = slow_fill(upright(12, flat=(8,)), {}, mix=None)
    assert numbers(tried) == [0]


def test_where_all_are_slow_the_quickest_of_those_tried_is_taken(slow_fill):
    made, _, _ = slow_fill(upright(6), {4: 400.0})
    assert int(made.up[0]) == 4


@pytest.mark.parametrize(
    ("fill_s", "doublings"),
    [(None, 0), (1.0, 0), (239.0, 0), (241.0, 1), (479.0, 1), (481.0, 2), (961.0, 3)],
)
def test_every_doubling_beyond_four_minutes_counts(monkeypatch, fill_s, doublings):
    """Our own choice, decision 0077."""
    monkeypatch.setattr(filling, "flow_through", lambda *_, **__: Some(fill_s=fill_s))
    assert filling._slow("part", "plan", MIX) == doublings
    assert filling._slow("part", "plan", None) == 0
    monkeypatch.setattr(filling, "flow_through", lambda *_, **__: None)
    assert filling._slow("part", "plan", MIX) == 0


@pytest.mark.parametrize(("asked", "beside"), [({}, False), ({"beside": True}, True)])
def test_channels_know_whether_other_parts_lie_beside(slow_fill, asked, beside):
    _, _, surfaces = slow_fill(upright(3), {0: 60.0}, **asked)
    assert [one.beside for one in surfaces] == [beside]


def test_trays_with_a_basin_are_poured_along_the_draw_either_way_and_other_moulds_as_they_fill_best(slow_fill):
    basin = PartRequest(name="thing", basin=True)
    _, tried, _ = slow_fill(upright(12, flat=(8,)), {}, request=basin)
    assert [one.tolist() for one in tried] == [[1.0, 0.0, 0.0], [-1.0, 0.0, 0.0]]
    _, tried, _ = slow_fill(upright(12), {0: 60.0}, kind=MouldKind.BEDDING, request=basin)
    assert numbers(tried) == [0]
