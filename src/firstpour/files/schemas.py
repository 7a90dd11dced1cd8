"""The JSON Schemas of the files that makers write, made from the models that read them."""

import json
from typing import Any

from pydantic import BaseModel

from firstpour.files.job_tables import JobFile
from firstpour.files.material_record import MaterialFile
from firstpour.files.workshop_tables import WorkshopTable

DRAFT = "https://json-schema.org/draft/2020-12/schema"
WRITTEN: dict[str, type[BaseModel]] = {
    "job.schema.json": JobFile,
    "material.schema.json": MaterialFile,
    "workshop.schema.json": WorkshopTable,
}
"""The file in docs/ that holds the schema of each model."""


def schema_of(model: type[BaseModel]) -> dict[str, Any]:
    """The schema of what the model reads."""
    schema = _without_null(model.model_json_schema())
    assert isinstance(schema, dict)
    return {"$schema": DRAFT, **schema}


def schema_texts() -> dict[str, str]:
    """Each schema as it is published, by its file in docs/."""
    return {
        name: json.dumps(schema_of(model), indent=2, ensure_ascii=False) + "\n" for name, model in WRITTEN.items()
    }


def _without_null(node: Any) -> Any:
    """The schema for a TOML file: a key is given or left out, it is never null."""
    if isinstance(node, list):
        return [_without_null(one) for one in node]
    if not isinstance(node, dict):
        return node
    kept = {key: _without_null(value) for key, value in node.items() if not (key == "default" and value is None)}
    choices = [one for one in kept.get("anyOf", ()) if one != {"type": "null"}]
    if len(choices) == 1 and len(kept["anyOf"]) > 1:
        del kept["anyOf"]
        kept = choices[0] | kept
    return kept
