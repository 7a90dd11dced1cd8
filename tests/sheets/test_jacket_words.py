"""What the page of a silicone says where it is poured under a jacket."""

from types import SimpleNamespace

from firstpour.files.pour_entries import PoseEntry
from firstpour.parting.values import MouldKind
from firstpour.sheets.silicone_page import _stand

POSE = PoseEntry(
    pours="silicone-upper",
    up=(0.0, 0.0, 1.0),
    around=["jacket-upper", "tray-upper"],
    level_mm=43.6,
    volume_mm3=61_400.0,
    openings_mm=[(0.0, 0.0, 33.0), (20.0, 20.0, 18.0)],
)


def stand(pose: PoseEntry) -> tuple[str, ...]:
    return _stand(SimpleNamespace(mould=SimpleNamespace(kind=MouldKind.TRAYS)), pose, 1)


def test_a_jacket_is_set_in_and_weighed_down_and_no_level_is_marked():
    said = stand(POSE)
    assert said[0].startswith("Tray-upper on its floor")
    assert "Jacket-upper sealed and released" in said[-2]
    assert "61 ml through the wide hole; it shows in the other 1." in said[-1]
    assert not any("level to pour to" in one for one in said)


def test_one_hole_alone_is_called_so_and_an_open_tray_has_its_level():
    assert "through its one hole" in stand(POSE.model_copy(update={"openings_mm": POSE.openings_mm[:1]}))[-1]
    said = stand(POSE.model_copy(update={"openings_mm": [], "around": ["tray-upper"]}))
    assert "level to pour to: 43.6 mm" in said[-1]
