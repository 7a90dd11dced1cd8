"""How deep the flat foot of a channel sits in the part, so that no film of silicone stays under it."""

from dataclasses import dataclass, replace

import manifold3d
import numpy as np

from firstpour.fill.values import Channel
from firstpour.surface.dexels import cut_dexels
from firstpour.surface.solids import from_solid
from firstpour.values import BoolArray, FloatArray, face_normals, frame_along

LEAST_FILM_MM = 1.5
"""Silicone thinner than this between a foot and the part tears off: the least wall (decision 0034)."""
SMALL_FILM_MM2 = 0.5
"""So much of a film may stay: a spot 0.8 mm across. An estimate of our own."""
FACING = float(np.cos(np.radians(30.0)))
"""A film lies between faces parallel to within 30°; what opens wider is a wedge."""
DEEPER_MM = 0.1
MOST_DEEPER = 2.0
"""A foot goes no deeper than so many of its radii."""
MOST_SHARE = 0.6
"""Nor through more than this share of the part's thickness there, by exact lines through the part."""
LINES = 48
"""Lines across a foot."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Under:
    """What lies under a foot, line by line: how deep the part begins and ends (k,), and whether its face looks up.

    Infinite where the part does not begin or end within reach; `area_mm2` is what each line stands for.
    """

    begins_mm: FloatArray
    ends_mm: FloatArray
    faces_it: BoolArray
    area_mm2: float

    def film_mm2(self, sink_mm: float) -> float:
        """How much of a foot that deep has a film under it."""
        thin = self.faces_it & (self.begins_mm > sink_mm) & (self.begins_mm < sink_mm + LEAST_FILM_MM)
        return float(thin.sum()) * self.area_mm2

    def pierces(self, sink_mm: float) -> bool:
        """Whether a foot that deep comes too near to the other side of the part."""
        within = self.begins_mm < sink_mm
        deepest = self.begins_mm[within] + MOST_SHARE * (self.ends_mm - self.begins_mm)[within]
        return bool((deepest < sink_mm).any())


def seated(channel: Channel, part: manifold3d.Manifold) -> Channel:
    """The channel, its foot sunk deeper where a film of silicone would stay under it.

    Both lie in the same frame. The least depth without a film that does not come out behind the part; the channel as
    it is where there is none, or no film. Fans and tips that a gate swallows stay as they are.
    """
    sink_mm = channel.radius_start_mm if channel.sink_mm is None else channel.sink_mm
    if len(channel.feet_mm) or sink_mm > channel.radius_start_mm + 1e-9:
        return channel
    reach_mm = MOST_DEEPER * channel.radius_start_mm
    under = _under(channel, part, deep_mm=reach_mm + LEAST_FILM_MM)
    if under is None or under.film_mm2(sink_mm) <= SMALL_FILM_MM2:
        return channel
    for deeper in np.arange(sink_mm + DEEPER_MM, reach_mm + 1e-9, DEEPER_MM):
        if under.pierces(float(deeper)):
            break
        if under.film_mm2(float(deeper)) <= SMALL_FILM_MM2:
            return replace(channel, sink_mm=float(deeper))
    return channel


def _under(channel: Channel, part: manifold3d.Manifold, *, deep_mm: float) -> _Under | None:
    """The part under the foot, down to `deep_mm`; None where there is nothing of it."""
    along = channel.path_mm[1] - channel.path_mm[0]
    along = along / np.linalg.norm(along)
    radius = channel.radius_start_mm
    frame = np.column_stack([frame_along(along).T, channel.path_mm[0]])
    rod = (
        manifold3d.Manifold.cylinder(deep_mm, radius, radius, LINES).translate((0.0, 0.0, -deep_mm)).transform(frame)
    )
    met = from_solid(rod ^ part)
    if len(met.faces) == 0:
        return None
    dexels = cut_dexels(met, along, resolution=LINES)
    top = dexels.offsets[1:][np.diff(dexels.offsets) > 0] - 1
    level = float(channel.path_mm[0] @ along)
    begins = level - dexels.z_mm[top]
    ends = level - dexels.z_mm[top - 1]
    return _Under(
        begins_mm=begins,
        ends_mm=np.where(ends > deep_mm - 1e-6, np.inf, ends),
        faces_it=(face_normals(met) @ along)[dexels.face[top]] > FACING,
        area_mm2=dexels.pitch_mm**2,
    )
