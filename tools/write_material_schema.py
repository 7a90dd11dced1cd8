"""Write docs/material.schema.json anew from the tables that read a material file."""

import json
from pathlib import Path

from firstpour.materials.material_schema import material_schema

if __name__ == "__main__":
    target = Path(__file__).parents[1] / "docs" / "material.schema.json"
    target.write_text(json.dumps(material_schema(), indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
