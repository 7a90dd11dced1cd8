"""What stands around a filling: the block with its tilt, the channels, and the level to pour to."""

from dataclasses import dataclass, field

import numpy as np
from scipy.spatial import ConvexHull

from firstpour.fill.values import Channel
from firstpour.values import FloatArray

LEAST_TILT_DEG = 1.0
"""A block that leans less is shown as level."""
STEPS = 400
"""Places along the last stretch of a channel among which its mouth is sought."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Around:
    """The silicone around the cavity, as points on its outside (k, 3) in the part's coordinates, and the channels."""

    outside_mm: FloatArray = field(default_factory=lambda: np.empty((0, 3)))
    channels: tuple[Channel, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Standing:
    """The block as it stands for the pour, in the frame of the fill (u, v, height).

    `corners_mm` (k, 3) of its outer shape; `lean` (2,) the level direction in which its top leans, of no length where
    it stands level; `paths_mm` the channels up to their mouths; `pour_to_mm` the height of the lowest mouth's lip,
    None where no channel leaves by the top.
    """

    corners_mm: FloatArray
    tilt_deg: float
    lean: FloatArray
    paths_mm: tuple[FloatArray, ...]
    pour_to_mm: float | None


def stand(around: Around, frame: FloatArray) -> Standing | None:
    """Turn the block by the rows of `frame` (3, 3: u, v, up); None where there is no block."""
    if len(around.outside_mm) < 4:
        return None
    hull = ConvexHull(around.outside_mm @ frame.T)
    top = hull.equations[np.argmax(hull.equations[:, 2])]
    tilt_deg = float(np.degrees(np.arccos(min(1.0, float(top[2])))))
    lean = top[:2] / np.linalg.norm(top[:2]) if tilt_deg > LEAST_TILT_DEG else np.zeros(2)
    paths, lips = [], []
    for channel in around.channels:
        path, lip_mm = _to_its_mouth(channel, frame, hull)
        paths.append(path)
        lips += [] if lip_mm is None else [lip_mm]
    return Standing(
        corners_mm=hull.points[hull.vertices],
        tilt_deg=tilt_deg if tilt_deg > LEAST_TILT_DEG else 0.0,
        lean=lean,
        paths_mm=tuple(paths),
        pour_to_mm=min(lips, default=None),
    )


def _to_its_mouth(channel: Channel, frame: FloatArray, hull: ConvexHull) -> tuple[FloatArray, float | None]:
    """The path cut where it leaves the block, and how high its mouth's lowest lip is if it leaves upwards."""
    path = channel.path_mm @ frame.T
    steps = path[-2] + np.linspace(0.0, 1.0, STEPS)[:, None] * (path[-1] - path[-2])
    beyond = steps @ hull.equations[:, :3].T + hull.equations[:, 3]
    inside = np.flatnonzero(beyond.max(axis=1) <= 0.0)
    last = int(inside[-1]) if len(inside) else STEPS - 1
    cut = np.concatenate([path[:-1], steps[last : last + 1]])
    rise = float(hull.equations[np.argmax(beyond[last]), 2])
    if rise < np.sqrt(0.5):
        return cut, None
    return cut, float(cut[-1, 2]) - channel.radius_end_mm * float(np.sqrt(max(0.0, 1.0 - rise**2)))
