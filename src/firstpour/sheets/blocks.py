"""What a page of the run sheet is made of: values alone, laid out by the template."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Ticks:
    """Things to do or to have, each with a box to tick."""

    title: str
    items: tuple[str, ...]
    kind: str = "ticks"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cautions:
    """What can harm, before the step that it concerns."""

    title: str
    items: tuple[str, ...]
    kind: str = "cautions"


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """A few sentences."""

    text: str
    kind: str = "words"


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """The one line of a page that must not be missed."""

    text: str
    note: str = ""
    write: str = ""
    """A line of its own to write on."""
    kind: str = "key"


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table; `widths` are shares, 0 for as wide as its words. An empty cell is a place to write."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]
    row_mm: float = 0.0
    """Height of a row at least, 0 for as high as its words."""
    kind: str = "table"


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture of the plan, its file relative to plan.json; `share` of the width, and what is said below it."""

    file: str
    alt: str
    share: float
    below: str = ""
    kind: str = "picture"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fields:
    """Lines to write on, each after its label."""

    title: str
    labels: tuple[str, ...]
    last: str = ""
    """A label with a whole line to itself."""
    kind: str = "fields"


Single = Ticks | Cautions | Words | Key | Table | Picture | Fields


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """Blocks beside others; `share` of the width for the left ones."""

    left: tuple[Single, ...]
    right: tuple[Single, ...]
    share: float
    kind: str = "beside"


Block = Single | Beside


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One page: what it is for, for which part, and its blocks in the order in which they are needed."""

    title: str
    under: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSheet:
    """All pages of a plan."""

    title: str
    made_by: str
    pages: tuple[Page, ...]
