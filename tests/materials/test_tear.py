"""An undercut against the tear strength of the mould."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from firstpour.errors import OutOfRange
from firstpour.formulas.tearing import strain_energy_mj_m3, tearing_energy_n_mm
from firstpour.materials.additives import Additive
from firstpour.materials.figures import FigureName
from firstpour.materials.material import SILICONES, Material
from firstpour.materials.tear import SAFE_MARGIN, tear_margin
from shelf_samples import MODEST, shipped

MOULDS = shipped().of_kinds(SILICONES)


@pytest.mark.parametrize("stretch", [0.1, 0.5, 1.0, 3.0])
def test_the_strain_energy_is_the_work_of_the_stretch(stretch: float) -> None:
    """Stress of a Gaussian network, (E/3)(λ − 1/λ²) (Treloar, from memory), integrated by scipy."""
    work, _ = quad(lambda x: 0.9 / 3 * (x - 1 / x**2), 1, 1 + stretch)
    assert strain_energy_mj_m3(modulus_mpa=0.9, stretch_ratio=stretch) == pytest.approx(work, rel=1e-9)


def test_at_little_stretch_a_nick_is_griffiths_edge_crack() -> None:
    """K_I = 1.1215 σ√(πc) of an edge crack (handbooks, from memory), G = K_I²/E; Greensmith measured K."""
    strain = 1e-3
    linear = 1.1215**2 * 3.14159265 * (0.9 * strain) ** 2 * 1.0 / 0.9
    ours = tearing_energy_n_mm(modulus_mpa=0.9, stretch_ratio=strain, nick_mm=1.0)
    assert 0.7 < ours / linear < 1.0


@MODEST
@given(material=st.sampled_from(MOULDS), low=st.floats(0.05, 2.0), more=st.floats(0.05, 2.0))
def test_more_stretch_never_leaves_more_margin(material: Material, low: float, more: float) -> None:
    less, much = (tear_margin(material, stretch_ratio=stretch) for stretch in (low, low + more))
    assert less is not None
    assert much is not None
    assert much < less


def test_a_soft_mould_stands_a_doubling_and_a_softener_takes_its_share() -> None:
    """Common practice, no source: soft moulds are peeled off undercuts at twice their length and live."""
    soft = shipped().get("addition-silicone-a20-slow")
    plain = tear_margin(soft, stretch_ratio=1.0)
    assert plain is not None
    assert plain > SAFE_MARGIN
    oil = [Additive(material=shipped().get("silicone-softener"), dose_ratio=0.1)]
    shore = replace(soft.figures[FigureName.SHORE_A], value=soft.figures[FigureName.SHORE_A].value - 7)
    as_soft = replace(soft, figures={**soft.figures, FigureName.SHORE_A: shore})
    neat = tear_margin(as_soft, stretch_ratio=1.0)
    assert neat is not None
    assert tear_margin(soft, stretch_ratio=1.0, additives=oil) == pytest.approx(0.8 * neat)


def test_without_a_tear_strength_or_a_stretch_nothing_is_said() -> None:
    soft = shipped().get("addition-silicone-a20-slow")
    silent = replace(soft, figures={k: v for k, v in soft.figures.items() if k is not FigureName.TEAR})
    assert tear_margin(silent, stretch_ratio=1.0) is None
    assert tear_margin(soft, stretch_ratio=0.0) is None
    assert tear_margin(shipped().get("rigid-plastic-d70-fast"), stretch_ratio=0.1) is None


@pytest.mark.parametrize("asked", [{"modulus_mpa": 0.0}, {"stretch_ratio": 5.1}, {"nick_mm": -1.0}])
def test_a_strip_that_cannot_be_is_refused(asked: dict[str, float]) -> None:
    with pytest.raises(OutOfRange):
        tearing_energy_n_mm(**{"modulus_mpa": 1.0, "stretch_ratio": 1.0, "nick_mm": 1.0, **asked})
