"""Money and days of the routes of one part against the number of copies, with where one overtakes the other."""

import io
from collections.abc import Sequence
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from firstpour.pictures.colours import BLACK, BLUE, FAINT_INK, INK, PAPER
from firstpour.routes.recipe import Way
from firstpour.routes.routes import Curve, PartRoutes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

VERMILION, GREEN, ORANGE, SKY, PURPLE = "#D55E00", "#009E73", "#E69F00", "#56B4E9", "#CC79A7"
"""Of the same set as BLUE: Okabe & Ito, "Color universal design" (2008)."""
LINES = ((BLUE, "-"), (VERMILION, "-"), (GREEN, "--"), (ORANGE, "--"), (PURPLE, "-."), (SKY, ":"), (BLACK, ":"))
"""Colour and dash of each line, so that they are told apart without colour too."""
SIZE_IN = (9.0, 8.0)
MOST_DRAWN = 200
"""Copies up to which the charts go."""
TICKS = (1, 2, 5, 10, 20, 50, 100, 200)


class ChartKind(StrEnum):
    """The formats of a chart."""

    SVG = "svg"
    PNG = "png"


def route_chart(part: PartRoutes, curves: Sequence[Curve], kind: ChartKind) -> bytes:
    """The chart as a file's bytes; `curves` share their numbers of copies."""
    figure = _drawn(part, curves[: len(LINES)])
    content = io.BytesIO()
    # no date in the file: the same routes give the same chart
    metadata: dict[str, Any] = {"Date": None} if kind is ChartKind.SVG else {}
    figure.savefig(content, format=kind.value, dpi=110, facecolor=PAPER, metadata=metadata)
    return content.getvalue()


def _drawn(part: PartRoutes, curves: Sequence[Curve]) -> "Figure":
    import matplotlib as mpl
    from matplotlib.figure import Figure

    mpl.rcParams["svg.hashsalt"] = "firstpour"
    figure = Figure(figsize=SIZE_IN, layout="constrained")
    money, days = figure.subplots(2, 1, sharex=True)
    for curve, (colour, dash) in zip(curves, LINES, strict=False):
        style = {"color": colour, "linestyle": dash, "linewidth": 1.8}
        money.plot(curve.copies, curve.money, label=curve.name, **style)
        days.plot(curve.copies, curve.days, **style)
    money.set_ylabel("money in all, your currency")
    days.set_ylabel("days until the last copy")
    days.set_xlabel("good copies")
    for axes in (money, days):
        _dressed(axes, part)
    _mark_crossings(money, curves)
    money.set_title(f"{part.name}, {part.wanted}: routes against the number of copies", loc="left", color=INK)
    figure.legend(*money.get_legend_handles_labels(), loc="outside lower left", fontsize=8, frameon=False)
    return figure


def _dressed(axes: Any, part: PartRoutes) -> None:
    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_xticks(TICKS, [str(one) for one in TICKS])
    axes.minorticks_off()
    axes.set_facecolor(PAPER)
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
    axes.yaxis.set_major_locator(_one_two_five())
    axes.grid(visible=True, color=FAINT_INK, alpha=0.25, linewidth=0.6)
    axes.spines[["top", "right"]].set_visible(False)
    axes.axvline(part.copies, color=FAINT_INK, linewidth=0.8)
    axes.annotate(
        f"asked: {part.copies}",
        (part.copies, 1.0),
        xycoords=("data", "axes fraction"),
        xytext=(3, -10),
        textcoords="offset points",
        fontsize=8,
        color=FAINT_INK,
    )


def _one_two_five() -> Any:
    from matplotlib.ticker import LogLocator

    return LogLocator(subs=(1.0, 2.0, 5.0))


def crossings(first: Sequence[float], second: Sequence[float]) -> int | None:
    """The place from which on the second stays below the first, if it does not from the beginning.

    >>> crossings([1, 2, 3], [2, 2.5, 2.6]), crossings([2, 3], [1, 1]), crossings([1, 2], [2, 3])
    (2, None, None)
    """
    below = [b < a for a, b in zip(first, second, strict=True)]
    if not below[-1] or all(below):
        return None
    return max(n for n, one in enumerate(below) if not one) + 1


def _mark_crossings(axes: Any, curves: Sequence[Curve]) -> None:
    """A ring and the number of copies wherever the money of a casting falls below that of a print for good."""
    prints = [one for one in curves if one.way is Way.PRINTED]
    castings = [one for one in curves if one.way is Way.CAST]
    for first in prints:
        found = [(at, then) for then in castings if (at := crossings(first.money, then.money)) is not None]
        if not found:
            continue
        at, then = min(found, key=lambda one: one[0])
        axes.plot(then.copies[at], then.money[at], marker="o", color=INK, fillstyle="none", markersize=9)
        axes.annotate(
            f"cast from {then.copies[at]} on",
            (then.copies[at], then.money[at]),
            xytext=(8, -12),
            textcoords="offset points",
            fontsize=8,
            color=INK,
        )
