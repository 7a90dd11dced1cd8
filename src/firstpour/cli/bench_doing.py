"""Commands for the step at hand: done, weighed, what came out, a clock, a figure, a photo, taken back."""

from pathlib import Path
from typing import Annotated

import typer

from firstpour.cli import bench_shown, show
from firstpour.cli.bench_opened import AsJson, Note, SessionNumber, bench_of, latest_of, now, session_of
from firstpour.cli.job_opened import ShelfPath


def next_step(
    note: Note = "", session: SessionNumber = None, shelf: ShelfPath = None, as_json: AsJson = False
) -> None:
    """The step is done: on to the next. Its clock starts now."""
    from firstpour.bench.doing import advance

    bench, at = bench_of(shelf), now()
    bench_shown.show_state(advance(bench, session_of(bench, session), at=at, note=note), at=at, as_json=as_json)


def weigh(
    grams: Annotated[
        str, typer.Argument(help="What the scale showed: “104.2 + 103.9” of A and B.", show_default=False)
    ],
    additive: Annotated[list[str] | None, typer.Option(help="ID=GRAMS of an additive that went in.")] = None,
    session: SessionNumber = None,
    shelf: ShelfPath = None,
    as_json: AsJson = False,
) -> None:
    """Say what was weighed: judged against the ratio, and taken off the shelf."""
    from firstpour.bench.weigh_in import weigh_in

    bench, at = bench_of(shelf), now()
    a_g, b_g = grams_typed(grams)
    added = dict(_additive(one) for one in additive or [])
    answer = weigh_in(bench, session_of(bench, session), at=at, a_g=a_g, b_g=b_g, additives_g=added)
    bench_shown.show_weighed(answer, at=at, as_json=as_json)


def outcome(
    defects: Annotated[
        list[str] | None, typer.Argument(help="good, or each defect as “DEFECT @ PLACE”.", show_default=False)
    ] = None,
    note: Note = "",
    session: SessionNumber = None,
    shelf: ShelfPath = None,
    as_json: AsJson = False,
) -> None:
    """Say what came out of the mould: good, or what is wrong and where."""
    from firstpour.bench.defects import defect_said
    from firstpour.bench.doing import record_outcome
    from firstpour.errors import BadRequest

    said = defects or []
    if not said or ("good" in said and len(said) > 1):
        raise BadRequest(
            "what came out is not said.", remedy="Say good, or each defect as “flash @ along the parting”."
        )
    found = [] if said == ["good"] else [defect_said(one) for one in said]
    bench, at = bench_of(shelf), now()
    state = record_outcome(bench, session_of(bench, session), at=at, defects=found, note=note)
    bench_shown.show_with_dates(bench, state, at=at, as_json=as_json)


def clock(
    name: Annotated[str, typer.Argument(help="What it is for.", show_default=False)],
    minutes: Annotated[
        float, typer.Argument(min=0.1, max=86400, help="How long it runs, in min.", show_default=False)
    ],
    session: SessionNumber = None,
    shelf: ShelfPath = None,
    as_json: AsJson = False,
) -> None:
    """Start a clock of your own."""
    from firstpour.bench.doing import start_clock

    bench, at = bench_of(shelf), now()
    state = start_clock(bench, session_of(bench, session), at=at, name=name, minutes=minutes)
    bench_shown.show_state(state, at=at, as_json=as_json)


def note(
    what: Annotated[str, typer.Argument(help="What was read off: room, print minutes, …", show_default=False)],
    value: Annotated[float, typer.Argument(min=-273, max=1_000_000, help="The figure.", show_default=False)],
    unit: Annotated[str, typer.Argument(help="Its unit: °C, min, g, …", show_default=False)],
    session: SessionNumber = None,
    shelf: ShelfPath = None,
    as_json: AsJson = False,
) -> None:
    """Keep a figure that was read off, with the step at hand."""
    from firstpour.bench.doing import measure

    bench, at = bench_of(shelf), now()
    state = measure(bench, session_of(bench, session), at=at, what=what, value=value, unit=unit)
    bench_shown.show_state(state, at=at, as_json=as_json)


def photo(
    file: Annotated[Path, typer.Argument(help="A picture.", show_default=False)],
    session: SessionNumber = None,
    shelf: ShelfPath = None,
    as_json: AsJson = False,
) -> None:
    """Keep a photo with the step at hand."""
    from firstpour.bench.doing import add_photo

    bench = bench_of(shelf)
    kept = add_photo(bench, session_of(bench, session), at=now(), file=file)
    if as_json:
        show.print_json({"file": str(kept)})
    else:
        show.print_words(f"Kept as {kept}")


def new_mould(
    instead_of: Annotated[
        int, typer.Argument(min=1, max=999, help="The mould that it replaces.", show_default=False)
    ],
    session: SessionNumber = None,
    shelf: ShelfPath = None,
    as_json: AsJson = False,
) -> None:
    """Make a new mould in the place of a worn one, before the next round."""
    from firstpour.bench.doing import new_mould as renew

    bench, at = bench_of(shelf), now()
    state = renew(bench, session_of(bench, session), at=at, instead_of=instead_of)
    bench_shown.show_with_dates(bench, state, at=at, as_json=as_json)


def undo(session: SessionNumber = None, shelf: ShelfPath = None, as_json: AsJson = False) -> None:
    """Take the last entry back, with its clock and what it took off the shelf."""
    from firstpour.bench.sessions import undo as take_back

    bench, at = bench_of(shelf), now()
    number = latest_of(bench) if session is None else session
    bench_shown.show_with_dates(bench, take_back(bench, number, at=at), at=at, as_json=as_json)


def grams_typed(words: str) -> tuple[float, float]:
    """Grams of A and of B as they are typed."""
    from firstpour.errors import BadRequest

    parts = [one.strip().removesuffix("g").strip() for one in words.split("+")]
    try:
        numbers = [float(one.replace(",", ".")) for one in parts]
    except ValueError:
        numbers = []
    if not 1 <= len(numbers) <= 2:
        raise BadRequest(f"“{words}” is no weight.", remedy="Say grams of A and of B, as “104.2 + 103.9”.")
    return numbers[0], numbers[1] if len(numbers) == 2 else 0.0


def _additive(words: str) -> tuple[str, float]:
    name, _, grams = words.partition("=")
    return name.strip(), grams_typed(grams)[0]
