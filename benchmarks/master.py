"""Slicing against trimesh's own multi-plane section, and the ranking of print directions."""

import numpy as np
import trimesh

from benchmarks.dexels import ball, lumps
from benchmarks.rows import Row, paired, timed
from firstpour.part.part import Part
from firstpour.printing.choose import choose_master
from firstpour.printing.orient import rank_print_directions
from firstpour.printing.printers import TYPICAL_PRINTERS
from firstpour.printing.slices import slice_part
from firstpour.printing.to_print import part_to_print
from firstpour.rounds.round_features import find_round_features
from firstpour.values import Mesh, mesh_volume_mm3

UP = np.array([0.0, 0.0, 1.0])
LAYERS = 500


def slice_rows(name: str, mesh: Mesh) -> list[Row]:
    """500 layers: areas and perimeters by us; by trimesh the bare line pieces, the lesser part of its work."""
    low, high = mesh.vertices_mm[:, 2].min(), mesh.vertices_mm[:, 2].max()
    layer_mm = float(high - low) / LAYERS
    other = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False)
    heights = (np.arange(LAYERS) + 0.5) * layer_mm

    def pieces() -> list[np.ndarray]:
        return trimesh.intersections.mesh_multiplane(other, [0.0, 0.0, low], UP, heights)[0]

    ours = slice_part(mesh, UP, layer_mm=layer_mm)
    theirs = [np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1).sum() for lines in pieces()]
    assert np.allclose(ours.perimeter_mm, theirs, rtol=1e-6), "the same planes cut the same outlines"
    assert abs(ours.area_mm2.sum() * layer_mm / mesh_volume_mm3(mesh) - 1) < 1e-4, "layers add up to the volume"
    mine, peers = paired(lambda: slice_part(mesh, UP, layer_mm=layer_mm), pieces, 3)
    return [
        Row(
            what=f"{LAYERS} layers cut, {name}, {len(mesh.faces)} faces",
            ours=mine,
            peer="trimesh mesh_multiplane, line pieces only",
            peers=peers,
            at_most=1000.0,
        )
    ]


def rank_rows(name: str, mesh: Mesh) -> list[Row]:
    """100 print directions with round features found first, on each process."""
    part = Part(name=name, mesh=mesh, marks=np.zeros(len(mesh.faces), np.uint8))
    thing = part_to_print(part)
    rows = [
        Row(
            what=f"round features, {name}, {len(mesh.faces)} faces",
            ours=timed(lambda: find_round_features(mesh), 3),
        )
    ]
    for printer in TYPICAL_PRINTERS:
        took = timed(lambda printer=printer: rank_print_directions(thing, printer=printer), 3)  # type: ignore[misc]
        what = f"100 print directions, {printer.process}, {name}, {len(mesh.faces)} faces"
        rows.append(Row(what=what, ours=took, at_most=500.0))
    took = timed(lambda: choose_master(part, TYPICAL_PRINTERS), 3)
    return [*rows, Row(what=f"the master chosen, {name}, {len(mesh.faces)} faces", ours=took, at_most=800.0)]


def run() -> list[Row]:
    shapes = {"ball": ball(450), "lumps": lumps(450)}
    return [
        *(row for name, mesh in shapes.items() for row in slice_rows(name, mesh)),
        *(row for name, mesh in shapes.items() for row in rank_rows(name, mesh)),
    ]
