"""The layer kernels against slow twins and against other libraries."""

from functools import partial

import manifold3d as m3
import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.ndimage import label

from firstpour.kernels import slices as kernel
from firstpour.printing.layer_steps import face_steps_mm, flat_cos, step_sizes
from firstpour.printing.printers import TYPICAL_PRINTERS
from firstpour.surface.dexels import cut_dexels
from firstpour.surface.solids import to_solid
from firstpour.values import face_areas_mm2, face_normals
from master_shapes import bowl, limpet, part_of, porthole_ring, tilted, torus

SHAPES = {
    "bowl": bowl,
    "limpet": limpet,
    "torus": partial(torus, major_mm=10, minor_mm=3, sides=32),
    "ring": partial(porthole_ring, 40, sides=32),
}
"""How each is made: a solid kept in a module outlives manifold3d at the end of the run."""
UP = np.array([0.0, 0.0, 1.0])


@pytest.mark.parametrize("name", SHAPES)
def test_layers_have_the_area_that_manifold3d_and_the_outline_that_trimesh_cuts(name):
    mesh = tilted(part_of(SHAPES[name]()).mesh, degrees=(20, 35, 0))
    low, high = mesh.vertices_mm[:, 2].min(), mesh.vertices_mm[:, 2].max()
    layer = (high - low) / 7
    ours = kernel.cut_layers(mesh.vertices_mm, mesh.faces, low + 0.37 * layer, layer, 6)
    solid = to_solid(mesh)
    other = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False)
    for k in range(6):
        level = low + (0.37 + k) * layer
        lines = trimesh.intersections.mesh_plane(other, plane_normal=UP, plane_origin=[0, 0, level])
        assert ours[0][k] == pytest.approx(solid.slice(level).area(), rel=1e-6)
        assert ours[1][k] == pytest.approx(np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1).sum(), rel=1e-6)


def _opens_slowly(solid, floor_open):
    """For each void voxel the lowest layer at which it meets the outside through layers not above it."""
    layers = solid.shape[0]
    opens = np.full(solid.shape, layers + 1)
    for top in range(layers):
        void = ~solid[: top + 1]
        numbered, _ = label(void)
        outside = set(np.unique(numbered[:, 0, :])) | set(np.unique(numbered[:, -1, :]))
        outside |= set(np.unique(numbered[:, :, 0])) | set(np.unique(numbered[:, :, -1]))
        if floor_open:
            outside |= set(np.unique(numbered[0]))
        reached = np.isin(numbered, sorted(outside - {0}))
        opens[: top + 1][reached & (opens[: top + 1] > top)] = top
    return opens


def _columns(solid):
    """Dexels of a voxel block: offsets and levels, by line j·nx + i."""
    _, ny, nx = solid.shape
    offsets, z = [0], []
    for j in range(ny):
        for i in range(nx):
            padded = np.concatenate([[0], solid[:, j, i].astype(np.int8), [0]])
            z += [float(v) for v in np.flatnonzero(np.diff(padded))]
            offsets.append(len(z))
    return np.array(offsets, np.int64), np.array(z, np.float64)


@settings(max_examples=25, deadline=None)
@given(number=st.integers(0, 10_000), share=st.floats(0.2, 0.7), lifted=st.booleans())
def test_sealed_area_by_layer_is_that_of_flooding_every_layer(number, share, lifted):
    solid = np.zeros((6, 8, 8), np.bool_)
    solid[:, 1:-1, 1:-1] = np.random.default_rng(number).random((6, 6, 6)) < share
    offsets, z = _columns(solid)
    profile = np.empty((6, 3))
    kernel.layer_profile(offsets, z, 8, 8, 1.0, 0.0, 1.0, 6, 1e-9, lifted, profile)
    opens = _opens_slowly(solid, lifted)
    levels = np.arange(6)[:, None, None]
    sealed = ~solid & (opens > levels)
    assert profile[:, 2].tolist() == sealed.sum(axis=(1, 2)).tolist()
    assert profile[:, 0].tolist() == solid.sum(axis=(1, 2)).tolist()
    whole = solid.astype(int)
    sides = sum(np.abs(np.diff(whole, axis=axis)).sum(axis=(1, 2)) for axis in (1, 2))
    falling = np.abs(whole[:, 1:, 1:] - whole[:, :-1, :-1]).sum(axis=(1, 2))
    rising = np.abs(whole[:, 1:, :-1] - whole[:, :-1, 1:]).sum(axis=(1, 2))
    assert profile[:, 1] == pytest.approx(np.pi / 8 * (sides + (falling + rising) / np.sqrt(2)))


@pytest.mark.parametrize("degrees", [0, 11, 22.5, 37, 45])
def test_the_counted_perimeter_is_within_6_per_cent_of_the_cut_one_in_any_direction(degrees):
    # Crofton's formula with four directions (textbook of integral geometry, from memory)
    mesh = part_of(m3.Manifold.cube([40, 25, 10]).rotate([0, 0, degrees])).mesh
    dexels = cut_dexels(mesh, UP, resolution=128, margin=1)
    counted = np.empty((10, 3))
    kernel.layer_profile(
        dexels.offsets, dexels.z_mm, dexels.nx, dexels.ny, dexels.pitch_mm, 0.0, 1.0, 10, 0.01, False, counted
    )
    assert counted[5, 1] == pytest.approx(130.0, rel=0.055)


@settings(max_examples=25, deadline=None)
@given(number=st.integers(0, 10_000), share=st.floats(0.2, 0.6))
def test_what_starts_in_the_air_are_the_pieces_that_begin_with_nothing_solid_below_or_beside(number, share):
    solid = np.zeros((6, 8, 8), np.bool_)
    solid[:, 1:-1, 1:-1] = np.random.default_rng(number).random((6, 6, 6)) < share
    offsets, z = _columns(solid)
    links = kernel.touching_spans(offsets, z, 8, 8)
    starts = np.ascontiguousarray(z[0::2])
    levels = starts[links].max(axis=1) if len(links) else np.zeros(0)
    found = kernel.join_solids(starts, links, np.argsort(levels, kind="stable"), levels, 1e-9)
    counted = np.bincount(starts[found].astype(int), minlength=6)
    for layer in range(6):
        pieces, count = label(solid[layer])
        below = solid[layer - 1] if layer else np.zeros_like(solid[0])
        begun = sum(1 for k in range(1, count + 1) if not below[pieces == k].any())
        assert counted[layer] == begun


def test_the_sweep_says_what_each_direction_alone_says():
    part = part_of(porthole_ring(40, sides=32))
    mesh = part.mesh
    frames = np.stack([np.eye(3), np.array([[0.0, 1, 0], [0, 0, 1], [1, 0, 0]])])
    normals, areas = face_normals(mesh), face_areas_mm2(mesh)
    show = np.ones(len(areas), np.bool_)
    lows = (mesh.vertices_mm @ frames[:, 2].T).min(axis=0)
    faces = np.empty((2, 5))
    kernel.sweep_faces(
        mesh.vertices_mm, mesh.faces, normals, areas, show, frames, lows, 0.025, 0.8, 0.99999, 0.05, 0.0, 0.0, faces
    )
    sums, profiles = np.empty((2, 4)), np.empty((2, 40, 3))
    kernel.sweep_lines(
        mesh.vertices_mm,
        mesh.faces,
        normals,
        frames,
        faces[:, 0].copy(),
        64,
        40,
        0.025,
        0.8,
        0.1,
        0.0,
        sums,
        profiles,
    )
    for k in range(2):
        dexels = cut_dexels(mesh, frames[k, 2], resolution=64, margin=1)
        volume = float((dexels.z_mm[1::2] - dexels.z_mm[0::2]).sum()) * dexels.pitch_mm**2
        assert profiles[k, :, 0].sum() * sums[k, 0] / 40 == pytest.approx(volume, rel=0.01)
        down = normals @ frames[k, 2]
        level = mesh.vertices_mm[mesh.faces] @ frames[k, 2] < lows[k] + 0.025
        on_bed = (down < -0.999) & level.all(axis=1)
        assert faces[k, 0] == pytest.approx(areas[on_bed].sum())
        assert faces[k, 1] == pytest.approx(areas[(down < -0.8) & ~on_bed].sum())


@pytest.mark.parametrize("printer", TYPICAL_PRINTERS, ids=lambda one: one.process)
@pytest.mark.parametrize("shape", ["bowl", "ring", "torus"])
def test_the_95_per_cent_step_is_that_of_a_sorted_list_of_each_faces_own(shape, printer):
    mesh = tilted(part_of(SHAPES[shape]()).mesh, degrees=(10, 25, 40))
    areas, sizes = face_areas_mm2(mesh), step_sizes(printer, layer_mm=0.1)
    diagonal_mm = float(np.linalg.norm(np.ptp(mesh.vertices_mm, axis=0)))
    out = np.empty((1, 5))
    kernel.sweep_faces(
        mesh.vertices_mm, mesh.faces, face_normals(mesh), areas, np.ones(len(areas), np.bool_), np.eye(3)[None],
        np.zeros(1), 0.01, 0.8, flat_cos(0.1, diagonal_mm), sizes.layer_mm, sizes.side_mm, sizes.pixel_mm, out,
    )  # fmt: skip
    steps = face_steps_mm(mesh, UP, printer=printer, layer_mm=0.1)
    order = np.argsort(steps)
    total = np.cumsum(areas[order])
    assert out[0, 4] == pytest.approx(steps[order][np.searchsorted(total, 0.95 * total[-1])], abs=0.0005)


def test_the_slopes_of_a_sphere_are_spread_evenly_over_its_area():
    # Archimedes' hat-box theorem: 95 % of its area has |n·d| of 0.95 or less
    mesh = part_of(m3.Manifold.sphere(10, 64)).mesh
    normals, areas = face_normals(mesh), face_areas_mm2(mesh)
    show, out = np.ones(len(areas), np.bool_), np.empty((1, 5))
    kernel.sweep_faces(
        mesh.vertices_mm, mesh.faces, normals, areas, show, np.eye(3)[None], np.full(1, -10.0), 0.01, 0.8, 2.0,
        1.0, 0.0, 0.0, out,
    )  # fmt: skip
    assert out[0, 4] == pytest.approx(0.95, abs=0.01)
