"""Materials and stock that the shelf's tests share."""

from datetime import date

from hypothesis import settings

from firstpour.files.catalogue import load_catalogue
from firstpour.files.material_toml import read_material
from firstpour.materials.catalogue import Catalogue
from firstpour.materials.material import Material
from firstpour.stock.stock import Pack

TODAY = date(2026, 3, 2)
MODEST = settings(max_examples=50, deadline=None)
"""Property tests on a shared machine: few examples, no stop-watch."""

PLASTIC_TEXT = """
id = "worked-plastic"
name = "The plastic of the worked mix"
kind = "rigid casting plastic"
traits = ["urethane", "contains isocyanate"]
ratio = [{ a = 100, b = 90, by = "weight" }]

[figures]
density_a = { value = 1.05, unit = "g/ml", origin = "data sheet" }
density_b = { value = 1.02, unit = "g/ml", origin = "data sheet" }
pot_life = { value = 7, unit = "min", temperature_c = 23, mass_g = 100, origin = "data sheet" }
demould = { value = 30, unit = "min", temperature_c = 23, origin = "data sheet" }
activation_energy = { value = 53, unit = "kJ/mol", origin = "data sheet" }
shore_d = { value = 70, unit = "Shore D", origin = "data sheet" }
"""


def worked_plastic() -> Material:
    return read_material(PLASTIC_TEXT, source="worked.toml")


def shipped() -> Catalogue:
    return load_catalogue(None)


def pack(number: int, material_id: str, a_g: float, b_g: float = 0.0, **more: object) -> Pack:
    full = {"size_a_g": a_g, "left_a_g": a_g, "size_b_g": b_g, "left_b_g": b_g, "bought_on": TODAY}
    return Pack(id=number, material_id=material_id, **{**full, **more})  # type: ignore[arg-type]
