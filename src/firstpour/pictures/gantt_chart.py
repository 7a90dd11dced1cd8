"""The whole job on one sheet: rows of each part for prints, surface, moulds and castings, tasks as bars in time."""

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from firstpour.pictures.colours import BLUE, FAINT_INK, INK, PAPER, SLATE
from firstpour.pictures.route_chart import ChartKind

if TYPE_CHECKING:
    from matplotlib.figure import Figure

HANDS, MACHINE, ITSELF = BLUE, SLATE, "#EFEBDD"
"""Dark, middling and light, so that they are told apart without colour, too; a print is hatched besides."""
WIDTH_IN, ROW_IN, HEAD_IN = 11.0, 0.24, 1.5
LONGEST_WORDS = 34
MOST_DAY_MARKS = 24
LEAST_SHOWN_RATIO = 1 / 500
"""A bar is at least so wide, as a share of the whole time: a pour of twenty minutes is to be seen in a month."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One task: the row it stands in, from when to when, whether hands are at it, or a printer."""

    row: str
    start: datetime
    end: datetime
    hands: bool
    printing: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """What is marked across all rows: the first proof, the last copy, and the day on which it is due."""

    first_proof_at: datetime
    all_done_at: datetime
    due: date | None


def gantt_chart(name: str, bars: Sequence[Bar], marks: Marks, kind: ChartKind) -> bytes:
    """The chart as a file's bytes; rows in the order in which they first stand among the bars."""
    figure = _drawn(name, bars, marks)
    content = io.BytesIO()
    # no date in the file: the same schedule gives the same chart
    metadata: dict[str, Any] = {"Date": None} if kind is ChartKind.SVG else {}
    figure.savefig(content, format=kind.value, dpi=110, facecolor=PAPER, metadata=metadata)
    return content.getvalue()


def short_words(words: str) -> str:
    """The words, cut in their middle where they are long: the end tells rows of one part apart.

    >>> short_words("a very long name of a part for the tide pool, mould 1")
    'a very long nam…tide pool, mould 1'
    """
    if len(words) <= LONGEST_WORDS:
        return words
    tail = LONGEST_WORDS // 2 + 1
    return f"{words[: LONGEST_WORDS - tail - 1].rstrip()}…{words[-tail:].lstrip()}"


def _drawn(name: str, bars: Sequence[Bar], marks: Marks) -> "Figure":
    import matplotlib as mpl
    from matplotlib.figure import Figure

    mpl.rcParams["svg.hashsalt"] = "firstpour"
    rows = {row: number for number, row in enumerate(dict.fromkeys(bar.row for bar in bars))}
    figure = Figure(figsize=(WIDTH_IN, HEAD_IN + ROW_IN * max(1, len(rows))), layout="constrained")
    axes = figure.subplots()
    first = min((bar.start for bar in bars), default=marks.first_proof_at).replace(hour=0, minute=0)
    last = max((*(bar.end for bar in bars), marks.all_done_at))
    least_h = LEAST_SHOWN_RATIO * (last - first).total_seconds() / 3600.0
    _bars(axes, bars, rows, first, least_h)
    axes.set_ylim(len(rows) - 0.4, -0.6)
    axes.set_yticks(list(rows.values()), [short_words(row) for row in rows], fontsize=8)
    _days(axes, first, last)
    _marked(axes, marks, first)
    axes.set_facecolor(PAPER)
    axes.spines[["top", "right", "left"]].set_visible(False)
    axes.tick_params(axis="y", length=0)
    axes.set_title(f"{short_words(name)}: the order of work", loc="left", color=INK, pad=22)
    _legend(figure)
    return figure


def _bars(axes: Any, bars: Sequence[Bar], rows: Mapping[str, int], first: datetime, least_h: float) -> None:
    """All bars of a look at once, those that need hands on top."""
    from matplotlib.collections import PolyCollection

    for hands, printing in ((False, True), (False, False), (True, False)):
        alike = [bar for bar in bars if bar.hands == hands and (hands or bar.printing == printing)]
        half, shortest_h = (0.36, least_h) if hands else (0.23, 0.0)
        corners = []
        for bar in alike:
            row, start_h = rows[bar.row], _hours(bar.start, first)
            end_h = start_h + max(_hours(bar.end, bar.start), shortest_h)
            corners.append([(start_h, row - half), (end_h, row - half), (end_h, row + half), (start_h, row + half)])
        axes.add_collection(
            PolyCollection(
                corners,
                facecolor=HANDS if hands else MACHINE if printing else ITSELF,
                edgecolor=HANDS if hands else FAINT_INK,
                linewidth=0.3,
                hatch="////" if printing else None,
            ),
            autolim=False,
        )


def _days(axes: Any, first: datetime, last: datetime) -> None:
    """A line at every midnight, the day named as often as there is room."""
    count = (last.date() - first.date()).days + 1
    every = -(-count // MOST_DAY_MARKS)
    midnights = [first + timedelta(days=n) for n in range(count + 1)]
    places = [_hours(one, first) for one in midnights]
    axes.set_xlim(0.0, places[-1])
    axes.set_xticks(places[::every], [f"{one:%a}\n{one.day} {one:%b}" for one in midnights[::every]], fontsize=7)
    whole = axes.get_xaxis_transform()
    axes.vlines(places, 0.0, 1.0, transform=whole, color=FAINT_INK, alpha=0.3, linewidth=0.5, zorder=0)
    for one, place in zip(midnights, places, strict=True):
        if one.weekday() >= 5 and one.date() <= last.date():
            axes.axvspan(place, place + 24.0, color=FAINT_INK, alpha=0.08, linewidth=0.0, zorder=0)


def _marked(axes: Any, marks: Marks, first: datetime) -> None:
    found = [("first proof", marks.first_proof_at, ":"), ("last copy", marks.all_done_at, "--")]
    for number, (words, moment, dash) in enumerate(found):
        axes.axvline(_hours(moment, first), color=INK, linestyle=dash, linewidth=1.0)
        axes.annotate(
            f"{words} {moment:%a %H:%M}", (_hours(moment, first), 1.0), xycoords=("data", "axes fraction"),
            xytext=(-2 if number else 2, 3), textcoords="offset points", fontsize=7, color=INK,
            ha="right" if number else "left",
        )  # fmt: skip
    if marks.due is not None:
        due_h = 24.0 * ((marks.due - first.date()).days + 1)
        if due_h < axes.get_xlim()[1]:
            axes.axvline(due_h, color=INK, linewidth=2.0)
            axes.annotate(
                f"due {marks.due.day} {marks.due:%b}", (due_h, 1.0), xycoords=("data", "axes fraction"),
                xytext=(-2, 12), textcoords="offset points", fontsize=7, color=INK, ha="right",
            )  # fmt: skip


def _legend(figure: "Figure") -> None:
    from matplotlib.patches import Patch

    figure.legend(
        handles=[
            Patch(facecolor=HANDS, edgecolor=HANDS, linewidth=0.3, label="needs your hands"),
            Patch(facecolor=MACHINE, edgecolor=FAINT_INK, linewidth=0.3, hatch="////", label="a printer runs"),
            Patch(facecolor=ITSELF, edgecolor=FAINT_INK, linewidth=0.3, label="cures, dries"),
        ],
        loc="outside lower left",
        ncols=3,
        fontsize=8,
        frameon=False,
    )


def _hours(moment: datetime, since: datetime) -> float:
    return (moment - since).total_seconds() / 3600.0
