"""The sample parts: closed, of the size and the number of faces asked for, marked as the tide pool needs them."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.errors import BadRequest
from firstpour.part.part import FaceMark, marked
from firstpour.part.repair import repair_mesh
from firstpour.samples import shapes
from firstpour.samples.samples import RECIPES, Sample, sample_part
from firstpour.samples.sampling import mesh_of_distance, sample_distance
from firstpour.surface.dexels import cut_dexels
from firstpour.surface.sides import sides_of
from firstpour.values import face_centres_mm, face_normals, mesh_bounds_mm, mesh_volume_mm3


@pytest.mark.parametrize("sample", list(Sample))
@pytest.mark.parametrize("faces", [5000, 20_000])
def test_a_sample_is_one_sound_body_of_about_the_faces_asked_for(sample: Sample, faces: int) -> None:
    part = sample_part(sample, faces=faces)
    assert abs(len(part.mesh.faces) / faces - 1) <= 0.2
    assert (sides_of(part.mesh.faces).counts == 2).all()
    repaired = repair_mesh(part.mesh.vertices_mm, part.mesh.faces)
    assert (repaired.bodies, repaired.findings) == (1, ())
    assert part.mesh.faces.shape == repaired.mesh.faces.shape


# Sizes of the scenario (all invented): star about 90 mm, limpet 60 mm, ring 80 mm outside, bollard 70 mm high.
@pytest.mark.parametrize(
    ("sample", "longest_mm", "holes"),
    [(Sample.SEA_STAR, 86, 0), (Sample.LIMPET, 60, 0), (Sample.PORTHOLE_RING, 80, 5), (Sample.BOLLARD, 70, 0)],
)
def test_samples_have_the_size_and_the_holes_of_the_scenario(sample: Sample, longest_mm: float, holes: int) -> None:
    mesh = sample_part(sample, faces=20_000).mesh
    assert np.ptp(mesh_bounds_mm(mesh), axis=0).max() == pytest.approx(longest_mm, rel=0.05)
    euler = len(mesh.vertices_mm) - len(mesh.faces) // 2  # V − E + F of a closed mesh; 2 − 2 × holes through it
    assert euler == 2 - 2 * holes
    assert mesh_bounds_mm(mesh)[0, 2] == pytest.approx(0, abs=0.3)


@pytest.mark.parametrize("sample", list(Sample))
def test_more_faces_change_the_volume_little(sample: Sample) -> None:
    coarse, fine = (mesh_volume_mm3(sample_part(sample, faces=n).mesh) for n in (10_000, 60_000))
    assert coarse == pytest.approx(fine, rel=0.03)


@pytest.mark.parametrize("sample", list(Sample))
def test_a_shape_is_never_steeper_than_a_distance(sample: Sample) -> None:
    recipe = RECIPES[sample]
    low, high = np.array(recipe.low_mm), np.array(recipe.high_mm)
    rng = np.random.default_rng(7)
    points = rng.uniform(low, high, (60_000, 3))
    values = recipe.distance(*points.T)
    near = np.abs(values) < 3.0  # only there is the sign of a block's middle trusted to be close
    step = rng.normal(size=points.shape)
    step *= 0.02 / np.linalg.norm(step, axis=1, keepdims=True)
    slope = np.abs(recipe.distance(*(points + step).T) - values) / 0.02
    assert slope[near].max() <= 1.02


@pytest.mark.parametrize("sample", list(Sample))
def test_looking_at_blocks_first_misses_nothing_of_the_surface(sample: Sample) -> None:
    recipe = RECIPES[sample]
    low, high = np.array(recipe.low_mm), np.array(recipe.high_mm)
    values = sample_distance(recipe.distance, origin_mm=low, high_mm=high, pitch_mm=1.0)
    nz, ny, nx = values.shape
    z, y, x = np.meshgrid(*(low[2 - k] + np.arange(n) for k, n in enumerate((nz, ny, nx))), indexing="ij")
    full = recipe.distance(x.ravel(), y.ravel(), z.ravel()).reshape(values.shape)
    assert ((values < 0) == (full < 0)).all()
    crossed = np.zeros(values.shape, bool)
    for axis in range(3):
        change = np.diff(full < 0, axis=axis)
        index = [slice(None)] * 3
        for part in (slice(None, -1), slice(1, None)):
            index[axis] = part
            crossed[tuple(index)] |= change
    np.testing.assert_allclose(values[crossed], full[crossed], atol=1e-9)


def test_the_star_hides_its_underside_and_shows_the_rest() -> None:
    part = sample_part(Sample.SEA_STAR, faces=10_000)
    hidden = marked(part, FaceMark.HIDDEN)
    assert (hidden ^ marked(part, FaceMark.SHOW)).all()
    assert (face_normals(part.mesh)[hidden, 2] < 0).all()
    assert face_centres_mm(part.mesh)[hidden, 2].max() < 6


def test_the_limpet_hides_its_inside_and_is_hollow() -> None:
    part = sample_part(Sample.LIMPET, faces=10_000)
    assert (marked(part, FaceMark.HIDDEN) == (face_normals(part.mesh)[:, 2] < -0.017)).mean() > 0.999
    inside = face_centres_mm(part.mesh)[marked(part, FaceMark.HIDDEN), 2]
    assert inside.max() > 15  # a deep cone


def test_the_ring_hides_its_flat_back_and_keeps_its_bore_clear() -> None:
    part = sample_part(Sample.PORTHOLE_RING, faces=20_000)
    back, bore = marked(part, FaceMark.HIDDEN), marked(part, FaceMark.KEEP_CLEAR)
    assert back.any()
    assert bore.any()
    assert not (back & bore).any()
    centres = face_centres_mm(part.mesh)
    assert centres[back, 2].max() < 0.5
    assert np.hypot(*centres[bore, :2].T).max() < shapes.RING_BORE_MM + 2
    assert np.hypot(*centres[:, :2].T).min() == pytest.approx(shapes.RING_BORE_MM, abs=0.2)


def test_the_bollard_hides_its_base_and_has_a_neck_that_undercuts_its_head() -> None:
    part = sample_part(Sample.BOLLARD, faces=10_000)
    assert face_centres_mm(part.mesh)[marked(part, FaceMark.HIDDEN), 2].max() < 2
    dexels = cut_dexels(part.mesh, np.array([0.0, 0, 1]), resolution=64)
    assert (np.diff(dexels.offsets) == 4).any()  # lines that pass head, air and flange


@pytest.mark.parametrize(
    ("name", "faces", "problem"),
    [("whale", 20_000, "no sample part named whale"), ("limpet", 10, "10 faces"), ("limpet", 10**8, "faces")],
)
def test_unknown_samples_and_impossible_face_counts_are_refused(name: str, faces: int, problem: str) -> None:
    with pytest.raises(BadRequest, match=problem):
        sample_part(name, faces=faces)


@given(radius_mm=st.floats(2, 20), faces=st.integers(5000, 20_000))
@settings(max_examples=10, deadline=None)
def test_a_ball_of_any_size_has_its_faces_and_its_volume(radius_mm: float, faces: int) -> None:
    ball = mesh_of_distance(
        lambda x, y, z: np.sqrt(x * x + y * y + z * z) - radius_mm,
        low_mm=np.full(3, -radius_mm),
        high_mm=np.full(3, radius_mm),
        faces=faces,
    )
    assert abs(len(ball.faces) / faces - 1) <= 0.2
    assert mesh_volume_mm3(ball) == pytest.approx(4 / 3 * np.pi * radius_mm**3, rel=0.03)
