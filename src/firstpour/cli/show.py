"""How every command shows what came back: one JSON object, or tables; progress apart from both."""

import json
import math
import sys
import threading
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import fields, is_dataclass
from enum import Enum, StrEnum
from typing import TYPE_CHECKING, Any

import typer

from firstpour.cli.options_named import with_options
from firstpour.errors import BadRequest

if TYPE_CHECKING:
    from rich.console import Console

    from firstpour.files.entry import FindingEntry
    from firstpour.values import Finding

PATIENCE_S = 1.0
"""Work that takes longer than this shows how far it is."""

WIDTH = 80
STYLES = {"error": "bold red", "warning": "yellow", "info": "cyan"}

JSON_OPTION = typer.Option("--json", help="Give one JSON object instead of tables.")


class Shown(StrEnum):
    """How much of an answer is shown, and in what form."""

    SHORT = "short"
    DETAILS = "details"
    JSON = "json"

    @classmethod
    def of(cls, as_json: bool, details: bool) -> "Shown":
        """What the options `--json` and `--details` come to: JSON holds everything anyway."""
        return cls.JSON if as_json else cls.DETAILS if details else cls.SHORT


def plain(value: Any) -> Any:
    """The value as JSON can hold it: arrays as lists, what is not finite as null.

    >>> plain({"size_mm": (1.0, float("nan")), "kind": "a"})
    {'size_mm': [1.0, None], 'kind': 'a'}
    """
    if hasattr(value, "model_dump"):
        return value.model_dump(mode="json")
    if is_dataclass(value) and not isinstance(value, type):
        return {entry.name: plain(getattr(value, entry.name)) for entry in fields(value)}
    if isinstance(value, dict):
        return {str(key): plain(entry) for key, entry in value.items()}
    if hasattr(value, "tolist"):
        return plain(value.tolist())
    if isinstance(value, (list, tuple, set, frozenset)):
        return [plain(entry) for entry in value]
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if value is None or isinstance(value, (bool, int, str)):
        return value
    return str(value)


def print_json(value: Any) -> None:
    """One object on stdout and nothing else."""
    sys.stdout.write(json.dumps(plain(value), indent=2, allow_nan=False) + "\n")


def console() -> "Console":
    """Where tables go: stdout, never wider than 80 columns."""
    from rich.console import Console

    plain_console = Console(highlight=False)
    return Console(highlight=False, width=min(WIDTH, plain_console.width))


def print_table(title: str, columns: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """A table whose first column is words and whose others are figures, at the right; nothing where no row is."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    table = Table(title=title, box=box.SIMPLE_HEAD, title_justify="left", title_style="bold", pad_edge=False)
    for number, column in enumerate(columns):
        table.add_column(column, justify="left" if number == 0 else "right", overflow="fold", no_wrap=number > 0)
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    if table.row_count:
        console().print(table)


def size_words(size_mm: Iterable[float]) -> str:
    """Width, depth and height in whole mm.

    >>> size_words([86.2, 66.0, 33.4])
    '86 x 66 x 33'
    """
    return " x ".join(f"{length:.0f}" for length in size_mm)


def print_words(words: str, *, style: str = "", indent: int = 0) -> None:
    """A line of words, taken as they are; from the second line on they hang two further in than `indent`."""
    from rich.padding import Padding
    from rich.text import Text

    if indent == 0:
        console().print(Text(words, style=style))
        return
    head, _, rest = words.partition(": ")
    hung = Text.assemble(f"{head}: ", rest) if rest else Text(head)
    lines = hung.wrap(console(), WIDTH - indent - 2)
    for number, line in enumerate(lines):
        console().print(Padding(line, (0, 0, 0, indent + (2 if number else 0)), expand=False))


def print_lines(lines: Iterable[str]) -> None:
    """Lines that are already laid out, as they are."""
    sys.stdout.write("\n".join(lines) + "\n")


def print_findings(findings: "Sequence[Finding | FindingEntry]") -> None:
    """The findings, the worst first: how bad, where and what, then what to do."""
    from rich.table import Table
    from rich.text import Text

    if not findings:
        return
    order = list(STYLES)
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(no_wrap=True)
    grid.add_column(overflow="fold")
    for finding in sorted(findings, key=lambda finding: order.index(str(finding.severity))):
        what = finding.what if finding.where is None else f"{finding.where}: {finding.what}"
        style = STYLES[str(finding.severity)]
        grid.add_row(Text(str(finding.severity), style=style), Text(what))
        grid.add_row("", Text(f"To do: {with_options(finding.remedy, has=())}", style="dim"))
    console().print(Text("Findings", style="bold"))
    console().print(grid)


def end(findings: "Sequence[Finding]") -> None:
    """Leave with 1 if a finding says that the plan cannot work, else go on to 0."""
    if any(str(finding.severity) == "error" for finding in findings):
        raise typer.Exit(1)


def numbers_from(words: str, *, option: str) -> tuple[float, float, float]:
    """A direction written as `x,y,z`, its largest number made 1: only the way it points counts.

    Raises
    ------
    BadRequest
        If there are not three finite numbers.

    >>> numbers_from("0, 20,10.5", option="--gate")
    (0.0, 20.0, 10.5)
    """
    try:
        x, y, z = (float(word) for word in words.split(","))
    except ValueError:
        x = y = z = math.nan
    if not all(math.isfinite(value) for value in (x, y, z)):
        raise BadRequest(f"{option} {words!r} is not x,y,z", remedy="give three numbers, such as 0,0,1")
    return x, y, z


def direction_from(words: str, *, option: str) -> tuple[float, float, float]:
    """A direction written as `x,y,z`, of any length.

    Raises
    ------
    BadRequest
        If there are not three finite numbers, or all are zero.

    >>> direction_from("0, 0,1", option="--direction")
    (0.0, 0.0, 1.0)
    """
    direction = numbers_from(words, option=option)
    if direction == (0.0, 0.0, 0.0):
        raise BadRequest(
            f"{option} {words!r} is not a direction", remedy="give three numbers, not all zero, such as 0,0,1"
        )
    largest = max(abs(value) for value in direction)
    x, y, z = direction
    return x / largest, y / largest, z / largest


def duration_words(minutes: float) -> str:
    """Minutes, hours or days, as one speaks of them.

    >>> duration_words(20), duration_words(270), duration_words(16 * 60), duration_words(6000)
    ('20 min', '4.5 h', '16 h', '4.2 days')
    """
    if minutes < 99.5:
        return f"{minutes:.0f} min"
    hours = minutes / 60
    if hours < 9.95:
        return f"{hours:.2g} h"
    return f"{hours:.0f} h" if hours < 72 else f"{hours / 24:.1f} days"


def amount(value: float | None, unit: str, *, places: int = 1) -> str:
    """A figure with its unit, to so many places at most; what would round to nothing as less than the last place.

    >>> amount(1234.567, "mm³"), amount(12.04, "ml"), amount(0.01, "mm"), amount(None, "mm"), amount(0.0, "mm")
    ('1235 mm³', '12 ml', '<0.1 mm', '-', '0 mm')
    """
    if value is None:
        return "-"
    least = 10.0**-places
    if 0.0 < abs(value) < 0.5 * least:
        return f"<{least:.{places}f} {unit}"
    shown = f"{value + 0.0:.{places if abs(value) < 100.0 else 0}f}"
    return f"{shown.rstrip('0').rstrip('.') if '.' in shown else shown} {unit}"


def direction_words(direction: Iterable[float], *, places: int = 3) -> str:
    """A direction in three short numbers.

    >>> direction_words([0.0, -0.0001, 1.0])
    '0, 0, 1'
    """
    return ", ".join(f"{round(value, places) + 0.0:g}" for value in direction)


@contextmanager
def progress(title: str) -> Iterator["Told"]:
    """Show on stderr how far the work is, once it has taken more than a second."""
    told = Told(title)
    try:
        yield told
    finally:
        told.stop()


class Told:
    """Called with steps done, steps in all and what is being done; draws a bar, or lines where there is no screen."""

    def __init__(self, title: str) -> None:
        self._title = title
        self._start = time.monotonic()
        self._state = (0, 1, title)
        self._lock = threading.Lock()
        self._called = self._written = self._stopped = False
        self._bar: Any = None
        self._task: Any = None
        self._timer = threading.Timer(PATIENCE_S, self._show)
        self._timer.daemon = True
        self._timer.start()

    def __call__(self, done: int, total: int, doing: str) -> None:
        with self._lock:
            self._state, self._called = (done, total, doing), True
            if self._bar is not None:
                self._bar.update(self._task, completed=done, total=total, description=doing)
            elif not sys.stderr.isatty() and time.monotonic() - self._start > PATIENCE_S:
                self._write_line()

    def _write_line(self) -> None:
        done, total, doing = self._state
        self._written = True
        sys.stderr.write(f"{self._title}: {done} of {total}, {doing}\n")
        sys.stderr.flush()

    def _show(self) -> None:
        """Once the patience is over: the bar, or, where there is no screen, a line of what goes on just then."""
        if not sys.stderr.isatty():
            with self._lock:
                if self._called and not self._written and not self._stopped:
                    self._write_line()
            return
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

        with self._lock:
            done, total, doing = self._state
            columns = (TextColumn("{task.description}"), BarColumn(bar_width=24), TimeElapsedColumn())
            self._bar = Progress(*columns, console=Console(stderr=True), transient=True)
            self._task = self._bar.add_task(doing, completed=done, total=total)
            self._bar.start()

    @property
    def waiting(self) -> bool:
        """Whether nothing has been drawn yet."""
        return self._bar is None

    def stop(self) -> None:
        """Take the bar away."""
        self._timer.cancel()
        with self._lock:
            self._stopped = True
            if self._bar is not None:
                self._bar.stop()
                self._bar = None
