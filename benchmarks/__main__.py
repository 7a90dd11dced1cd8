"""Run the benchmark modules here and print one table; exits 1 if a ratio is missed. Times are for information."""

import os
import sys
from importlib import import_module
from pkgutil import iter_modules
from types import ModuleType

from benchmarks.rows import Row

HEADS = ("what", "ours", "peer", "peer's", "ratio", "target", "met?")


def modules_here(names: list[str]) -> list[ModuleType]:
    """The modules that define `run`, by name; only `names` if any are given."""
    found = [module.name for module in iter_modules(sys.modules["benchmarks"].__path__) if module.name != "__main__"]
    unknown = sorted(set(names) - set(found))
    if unknown:
        sys.exit(f"no benchmark is called {', '.join(unknown)}; there are: {', '.join(found)}")
    modules = [import_module(f"benchmarks.{name}") for name in (names or found)]
    return [module for module in modules if hasattr(module, "run")]


def cells(row: Row) -> tuple[str, ...]:
    """The row as text, one entry a column of `HEADS`."""

    def figure(value: float | None) -> str:
        return (
            "" if value is None else f"{value:.3g} {row.unit}".rstrip() if value < 1000 else f"{value:.0f} {row.unit}"
        )

    ratio = "" if row.ratio is None else f"{row.ratio:.3g}×" if row.ratio < 1000 else f"{row.ratio:.0f}×"
    met = {True: "yes", False: "NO", None: ""}[row.met]
    return row.what, figure(row.ours), row.peer, figure(row.peers), ratio, row.target, met


def table(rows: list[Row]) -> str:
    """The rows under their heads, columns aligned."""
    lines = [HEADS, *(cells(row) for row in rows)]
    widths = [max(len(line[k]) for line in lines) for k in range(len(HEADS))]
    text = ["  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip() for line in lines]
    text.insert(1, "  ".join("-" * width for width in widths))
    return "\n".join(text)


def main() -> int:
    load = os.getloadavg()[0]
    print(f"{os.cpu_count()} cores, load {load:.1f} before the start" + (" (not quiet: times suffer)" * (load > 0.5)))
    rows: list[Row] = []
    for module in modules_here(sys.argv[1:]):
        print(f"measuring {module.__name__.removeprefix('benchmarks.')} …", file=sys.stderr)
        rows += module.run()
    print(table(rows))
    return int(any(row.met is False for row in rows))


if __name__ == "__main__":
    sys.exit(main())
