"""What is poured, as gates and vents must know it."""

import pytest

from firstpour.fill.breathing import mix_of
from firstpour.materials.additives import Additive
from firstpour.materials.figures import FigureName
from shelf_samples import shipped

SHIPPED = shipped()


def test_a_mix_is_as_thick_as_its_record_says_and_a_filler_makes_it_thicker_and_heavier():
    material = SHIPPED.get("rigid-plastic-d75-slow")
    plain = mix_of(material)
    assert plain.viscosity_pa_s == pytest.approx(material.figures[FigureName.VISCOSITY].value)
    filled = mix_of(material, (Additive(material=SHIPPED.get("mineral-filler"), dose_ratio=0.5),))
    assert filled.viscosity_pa_s > 1.2 * plain.viscosity_pa_s
    assert filled.density_g_ml > 1.1 * plain.density_g_ml


def test_no_mix_is_made_up_where_no_viscosity_is_known():
    assert mix_of(SHIPPED.get("sulphur-clay")) is None
