"""The JSON Schema of a material file, worked out from the same tables that read it."""

from typing import Any

from firstpour.materials.figures import AT_TEMPERATURE, FIGURES, FigureName, Origin
from firstpour.materials.material import CountsOn, Kind
from firstpour.units import FACTORS

DRAFT = "https://json-schema.org/draft/2020-12/schema"
_WORDS = {"type": "array", "items": {"type": "string"}}


def material_schema() -> dict[str, Any]:
    """The schema as a plain object: docs/material.schema.json holds it."""
    properties: dict[str, Any] = {
        "id": {"type": "string", "pattern": "^[a-z0-9][a-z0-9-]{0,63}$"},
        "name": {"type": "string", "minLength": 1},
        "kind": {"enum": [kind.value for kind in Kind]},
        "note": {"type": "string"},
        "traits": _WORDS | {"description": "words that compatibility rules and cautions look for"},
        "works_in": _WORDS | {"description": "for an additive: ids or kinds of the materials it is made for"},
        "counts_on": {"enum": [part.value for part in CountsOn]},
        "accelerator": {"type": "string"},
        "colourant": {"type": "string"},
        "softener": {"type": "string"},
        "ratio": {"type": "array", "minItems": 1, "maxItems": 2, "items": _ratio_schema()},
        "figures": _object({name.value: _figure_schema(name) for name in FigureName}, needed=[]),
        "dose": {"type": "array", "items": _dose_schema()},
        "pack": {"type": "array", "items": _pack_schema()},
    }
    schema = _object(properties, needed=["id", "name", "kind"])
    return {"$schema": DRAFT, "title": "Firstpour material", **schema}


def _object(properties: dict[str, Any], *, needed: list[str]) -> dict[str, Any]:
    return {"type": "object", "properties": properties, "required": needed, "additionalProperties": False}


def _figure_schema(name: FigureName) -> dict[str, Any]:
    spec = FIGURES[name]
    units = ["°C", "C", "°F", "F", "K"] if spec.unit == "°C" else list(FACTORS[spec.unit])
    properties = {
        "value": {"type": "number"},
        "low": {"type": "number", "description": "lower end of the range, in the same unit"},
        "high": {"type": "number", "description": "upper end of the range, in the same unit"},
        "unit": {"enum": units},
        "temperature_c": {"type": "number", "minimum": -20, "maximum": 100},
        "mass_g": {"type": "number", "exclusiveMinimum": 0},
        "origin": {"enum": [origin.value for origin in Origin]},
    }
    needed = ["value", "unit", "origin"] + (["temperature_c"] if name in AT_TEMPERATURE else [])
    described = f"{spec.what}; makes sense from {spec.low:g} to {spec.high:g} {spec.unit}"
    return {"description": described, **_object(properties, needed=needed)}


def _ratio_schema() -> dict[str, Any]:
    above_zero = {"type": "number", "exclusiveMinimum": 0}
    return _object({"a": above_zero, "b": above_zero, "by": {"enum": ["weight", "volume"]}}, needed=["a", "b", "by"])


def _dose_schema() -> dict[str, Any]:
    share = {"type": "number", "exclusiveMinimum": 0, "maximum": 1}
    properties = {
        "dose": {"type": "number", "minimum": 0, "description": "g per g of the part it counts on"},
        "pot_life_ratio": share,
        "cure_ratio": share,
        "shore_points": {"type": "number", "minimum": -60, "maximum": 60},
    }
    return _object(properties, needed=["dose"])


def _pack_schema() -> dict[str, Any]:
    properties = {
        "part_a_g": {"type": "number", "exclusiveMinimum": 0},
        "part_b_g": {"type": "number", "minimum": 0},
        "price": {"type": "number", "minimum": 0, "description": "in your own currency"},
    }
    return _object(properties, needed=["part_a_g"])
