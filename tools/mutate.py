"""One change at a time to the source of a module, as a slip of the hand would make it: what tests must notice.

Left alone: words (strings, docstrings, f-strings), annotations, decorators and tolerances below a hundred-thousandth.
Whether a comparison holds at equality is only changed where it is with a whole number: a measured length never equals
its bound.
"""

import ast
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from types import CodeType

DUST = 1e-5
"""Smaller figures are tolerances: twice or half makes no difference to a maker."""

OTHER_WAY: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
AT_EQUALITY: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt,
}  # fmt: skip
OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult, ast.Pow: ast.Mult, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd, ast.BitXor: ast.BitOr,
}  # fmt: skip
CALLS = {
    "min": "max", "max": "min", "minimum": "maximum", "maximum": "minimum", "argmin": "argmax", "argmax": "argmin",
    "any": "all", "all": "any", "floor": "ceil", "ceil": "floor", "cos": "sin", "sin": "cos",
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Mutant:
    """One change: where, which words of the source became which, and the whole module compiled with it."""

    line: int
    scope: str
    before: str
    after: str
    code: CodeType

    @property
    def change(self) -> str:
        """The change in one line."""
        return f"{self.before} → {self.after}"


def mutants_of(source: str, *, file: str) -> list[Mutant]:
    """Every mutant of the source, in the order of its lines.

    >>> [mutant.change for mutant in mutants_of("def f(a):\\n    return a + 1", file="f.py")]
    ['a + 1 → a - 1', '1 → 2']
    """
    tree = ast.parse(source)
    found = []
    for node, scope in _told(tree, ()):
        for line, before, after, put, back in _changes(node):
            put()
            code = compile(ast.fix_missing_locations(tree), file, "exec")
            back()
            if before != after:
                found.append(Mutant(line=line, scope=scope, before=before, after=after, code=code))
    return sorted(found, key=lambda mutant: mutant.line)


Change = tuple[int, str, str, Callable[[], None], Callable[[], None]]
"""Line, words before and after, what makes the change and what takes it back."""


def _told(node: ast.AST, scope: tuple[str, ...]) -> Iterator[tuple[ast.AST, str]]:
    """Nodes that may be changed, each with the name of what it stands in."""
    if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
        scope = (*scope, node.name)
    yield node, ".".join(scope)
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "type_params") or isinstance(node, ast.JoinedStr):
            continue
        if isinstance(node, (ast.Raise, ast.Import, ast.ImportFrom)):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST):
                yield from _told(child, scope)


def _changes(node: ast.AST) -> Iterator[Change]:
    if isinstance(node, ast.Compare):
        yield from _compared(node)
    elif isinstance(node, (ast.BinOp, ast.AugAssign)):
        if type(node.op) in OPERATORS and not _of_words(node):
            yield _set(node, "op", OPERATORS[type(node.op)]())
    elif isinstance(node, ast.BoolOp):
        yield _set(node, "op", ast.Or() if isinstance(node.op, ast.And) else ast.And())
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.USub, ast.Not)):
        yield _set(node, "op", ast.UAdd() if isinstance(node.op, ast.USub) else _Twice())
    elif isinstance(node, (ast.If, ast.IfExp, ast.While)):
        if not isinstance(node.test, (ast.Compare, ast.BoolOp, ast.UnaryOp)):
            yield _set(node, "test", ast.UnaryOp(op=ast.Not(), operand=node.test), shown=node.test)
    elif isinstance(node, ast.Constant):
        yield from _figures(node)
    elif isinstance(node, ast.Call):
        yield from _calls(node)
    elif isinstance(node, ast.Break):
        return


def _compared(node: ast.Compare) -> Iterator[Change]:
    sides = [node.left, *node.comparators]
    for n, op in enumerate(node.ops):
        kinds = [OTHER_WAY[type(op)]]
        whole = any(isinstance(side, ast.Constant) and type(side.value) is int for side in sides[n : n + 2])
        if whole and type(op) in AT_EQUALITY:
            kinds.append(AT_EQUALITY[type(op)])
        for kind in kinds:
            yield _set(node, "ops", [*node.ops[:n], kind(), *node.ops[n + 1 :]])


def _figures(node: ast.Constant) -> Iterator[Change]:
    value = node.value
    if type(value) is bool:
        yield _set(node, "value", not value)
    elif type(value) is int:
        yield _set(node, "value", value + 1)
    elif type(value) is float and (value == 0.0 or abs(value) > DUST):
        yield _set(node, "value", 2.0 * value if value else 1.0)


def _calls(node: ast.Call) -> Iterator[Change]:
    called = node.func
    if isinstance(called, ast.Name) and called.id in CALLS:
        yield _set(called, "id", CALLS[called.id], shown=node)
    elif isinstance(called, ast.Attribute) and called.attr in CALLS:
        yield _set(called, "attr", CALLS[called.attr], shown=node)


class _Twice(ast.Not):
    """Marks a `not` that is turned over: compiled as `not not`."""


def _set(node: ast.AST, name: str, value: object, *, shown: ast.AST | None = None) -> Change:
    """The change of one field of a node."""
    shown = shown or node
    old = getattr(node, name)
    if isinstance(value, _Twice) and isinstance(node, ast.UnaryOp):
        return _set(node, "operand", ast.UnaryOp(op=ast.Not(), operand=node.operand))
    before = ast.unparse(shown)
    setattr(node, name, value)
    after = ast.unparse(ast.fix_missing_locations(shown if name != "test" else getattr(node, name)))
    setattr(node, name, old)
    line = getattr(node, "lineno", getattr(shown, "lineno", 1))
    return line, _short(before), _short(after), lambda: setattr(node, name, value), lambda: setattr(node, name, old)


def _short(words: str) -> str:
    line = " ".join(words.split())
    return line if len(line) <= 100 else line[:60] + " … " + line[-37:]


def _of_words(node: ast.BinOp | ast.AugAssign) -> bool:
    """Whether it joins words."""
    sides = (node.value,) if isinstance(node, ast.AugAssign) else (node.left, node.right)
    return any(
        isinstance(side, ast.JoinedStr) or (isinstance(side, ast.Constant) and isinstance(side.value, (str, bytes)))
        for side in sides
    )
