"""A formula is there for the product: what only a test calls guards nothing."""

import ast
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "src" / "firstpour"
TREES = {path: ast.parse(path.read_text(encoding="utf-8")) for path in SOURCE.rglob("*.py")}
FORMULAS = [
    (path, node.name)
    for path, tree in TREES.items()
    if path.parent.name == "formulas"
    for node in tree.body
    if isinstance(node, ast.FunctionDef)
]


def called_in(tree: ast.Module) -> set[str]:
    """Names that the code of a module calls or hands on, its own definitions and imports left out."""
    names = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    return names | {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}


@pytest.mark.parametrize(("path", "name"), FORMULAS, ids=[f"{path.stem}-{name}" for path, name in FORMULAS])
def test_every_formula_is_called_by_the_product(path: Path, name: str) -> None:
    assert len(FORMULAS) > 30
    assert any(name in called_in(tree) for tree in TREES.values()), f"{path.name}: {name}"
