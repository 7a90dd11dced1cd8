"""Letters to engrave: plain strokes on a grid of 2 × 4, wide enough for an ordinary nozzle."""

import manifold3d
import shapely
import shapely.affinity

STROKES = {
    "A": "00 03 14 23 20, 02 22", "B": "00 04 14 23 12 02, 12 21 10 00", "C": "23 14 03 01 10 21",
    "D": "00 04 14 23 21 10 00", "E": "24 04 00 20, 02 12", "F": "24 04 00, 02 12", "G": "23 14 03 01 10 21 22 12",
    "H": "00 04, 20 24, 02 22", "I": "10 14", "J": "24 21 10 01", "K": "00 04, 24 02 20", "L": "04 00 20",
    "M": "00 04 12 24 20", "N": "00 04 20 24", "O": "01 03 14 23 21 10 01", "P": "00 04 14 23 12 02",
    "Q": "01 03 14 23 21 10 01, 11 20", "R": "00 04 14 23 12 02, 12 20", "S": "23 14 03 12 21 10 01",
    "T": "04 24, 14 10", "U": "04 01 10 21 24", "V": "04 10 24", "W": "04 00 12 20 24", "X": "00 24, 04 20",
    "Y": "04 12 24, 12 10", "Z": "04 24 00 20", "0": "01 03 14 23 21 10 01, 01 23", "1": "03 14 10",
    "2": "03 14 23 00 20", "3": "04 24 12 21 10 01", "4": "10 14 01 21", "5": "24 04 02 12 21 10 01",
    "6": "23 14 03 01 10 21 12 01", "7": "04 24 10", "8": "12 03 14 23 12 01 10 21 12",
    "9": "01 10 21 23 14 03 12 23", "-": "02 22",
}  # fmt: skip
"""The strokes of each letter: points by column and row, polylines parted by commas."""
ADVANCE, ROWS = 3, 4


def words_plan(words: str, *, height_mm: float, stroke_mm: float) -> shapely.Geometry:
    """The plan of words in one line, its middle at the origin: capitals, figures and hyphens; others come as hyphens.

    >>> [round(side, 2) for side in words_plan("LL", height_mm=4.0, stroke_mm=0.8).bounds]
    [-2.4, -2.0, 2.4, 2.0]
    """
    pitch = (height_mm - stroke_mm) / ROWS
    lines = []
    for place, letter in enumerate(words.upper()):
        if letter == " ":
            continue
        for stroke in STROKES.get(letter, STROKES["-"]).split(", "):
            points = [(pitch * (ADVANCE * place + int(at[0])), pitch * int(at[1])) for at in stroke.split(" ")]
            lines.append(shapely.LineString(points).buffer(0.5 * stroke_mm, quad_segs=3))
    plan = shapely.union_all(lines)
    return shapely.affinity.translate(plan, -0.5 * pitch * (ADVANCE * len(words) - 1), -0.5 * pitch * ROWS)


def words_width_mm(words: str, *, height_mm: float, stroke_mm: float) -> float:
    """How long a line of words is, about."""
    return (height_mm - stroke_mm) / ROWS * (ADVANCE * len(words) - 1) + stroke_mm


def sunk(plan: shapely.Geometry, *, low_mm: float, high_mm: float) -> manifold3d.Manifold:
    """The upright solid over a plan between two heights, to take away or to add."""
    solids = []
    for patch in shapely.get_parts(plan):
        rings = [patch.exterior, *patch.interiors]
        section = manifold3d.CrossSection([list(ring.coords)[:-1] for ring in rings], manifold3d.FillRule.EvenOdd)
        solids.append(manifold3d.Manifold.extrude(section, high_mm - low_mm).translate((0.0, 0.0, low_mm)))
    return manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add) if solids else manifold3d.Manifold()
