"""The first run of a fresh install: kernels are compiled by all processes at once, before the work begins."""

from collections.abc import Callable

import numpy as np

from firstpour.kernels.compiled import is_complete, mark_complete
from firstpour.part.part import Part
from firstpour.plan.crew import Crew
from firstpour.plan.values import Progress
from firstpour.surface.solids import from_solid


def get_ready(crew: Crew, progress: Progress) -> None:
    """Compile what is not kept yet; nothing where it is."""
    if is_complete():
        return
    progress(0, len(STAGES), "getting ready: the first run compiles, about half a minute")
    for count, _ in enumerate(crew.run(run_stage, [(name,) for name in STAGES]), start=1):
        progress(count, len(STAGES), "getting ready: the first run compiles")
    mark_complete()


def run_stage(name: str) -> str:
    """Run one stage on a small part."""
    STAGES[name]()
    return name


def _small_part() -> Part:
    """A ring with a rounded top: few faces, for only the compiling counts."""
    import manifold3d

    solid = manifold3d.Manifold.cylinder(8.0, 20.0, 18.0, 48) - manifold3d.Manifold.cylinder(30.0, 9.0, 9.0, 48)
    mesh = from_solid(solid + manifold3d.Manifold.sphere(5.0, 24).translate([14.0, 0.0, 8.0]))
    return Part(name="ring", mesh=mesh, marks=np.zeros(len(mesh.faces), np.uint8))


def _pour() -> None:
    from firstpour.fill.pour import rank_pours

    rank_pours(_small_part(), directions=6)


def _draw() -> None:
    from firstpour.parting.draw import rank_draws

    rank_draws(_small_part())


def _print() -> None:
    from firstpour.printing.choose import choose_master
    from firstpour.printing.printers import TYPICAL_PRINTERS

    choose_master(_small_part(), TYPICAL_PRINTERS, directions=6)


def _surface() -> None:
    from firstpour.pictures.colours import PAPER, rgb_of
    from firstpour.pictures.shade import Body, Line, camera_on, shade
    from firstpour.surface.isosurface import isosurface_mesh

    mesh = _small_part().mesh
    camera = camera_on([mesh], frame=np.eye(3), size_px=(200, 150))
    line = Line(points_mm=mesh.vertices_mm[:2], colour=rgb_of(PAPER))
    shade([Body(mesh=mesh, colour=rgb_of(PAPER))], camera=camera, lines=[line])
    place = np.meshgrid(*[np.arange(-3.0, 4.0)] * 3, indexing="ij")
    isosurface_mesh(np.sqrt(sum(p**2 for p in place)), level=2.0, origin_mm=np.zeros(3), pitch_mm=1.0)


STAGES: dict[str, Callable[[], None]] = {"pour": _pour, "draw": _draw, "print": _print, "surface": _surface}
"""What compiles longest first; each can run beside the others."""
