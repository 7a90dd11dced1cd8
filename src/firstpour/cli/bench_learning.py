"""Commands on what the bench has seen: why a copy was spoiled, the days that are left, what was learned."""

from typing import Annotated

import typer

from firstpour.cli import bench_shown
from firstpour.cli.bench_opened import MOST_ID, AsJson, SessionNumber, bench_of, latest_of, now
from firstpour.cli.job_opened import ShelfPath
from firstpour.cli.numbers import limited


def why(
    number: Annotated[
        int | None, limited(1, MOST_ID, "Which outcome of the session; the last spoiled one if not given.")
    ] = None,
    session: SessionNumber = None,
    shelf: ShelfPath = None,
    as_json: AsJson = False,
) -> None:
    """Why a copy was spoiled: causes, the likeliest first, what speaks for and against each, what to try next."""
    from firstpour.bench.facts import diagnose

    bench = bench_of(shelf)
    given = latest_of(bench) if session is None else session
    bench_shown.show_causes(diagnose(bench, given, outcome=number), as_json=as_json)


def days(
    plan: Annotated[
        int | None,
        typer.Argument(
            min=1, max=MOST_ID, help="Number of the kept plan; the latest if not given.", show_default=False
        ),
    ] = None,
    shelf: ShelfPath = None,
    as_json: AsJson = False,
) -> None:
    """The days that are left, put in order anew from what is done: the next proof, the last copy."""
    from firstpour.bench.again import put_in_order_again
    from firstpour.bench.dates import keep_told
    from firstpour.bench.kept import kept_plans
    from firstpour.errors import BadRequest

    bench = bench_of(shelf)
    if plan is None:
        kept = kept_plans(bench)
        if not kept:
            raise BadRequest("no plan is kept.", remedy="keep one first")
        plan = kept[-1].id
    again = put_in_order_again(bench, plan=plan, at=now())
    keep_told(bench, again)
    bench_shown.show_again(again, as_json=as_json)


def learned(shelf: ShelfPath = None, as_json: AsJson = False) -> None:
    """What the next plan takes from what was seen here, each with the number of times that it was seen."""
    from firstpour.store.learned import learned_in

    bench_shown.show_learned(learned_in(bench_of(shelf).store), as_json=as_json)


def forget(
    what: Annotated[str, typer.Argument(help="yield, pot life, demould, print minutes or pace.", show_default=False)],
    about: Annotated[
        str, typer.Argument(help="The part, material or process; of a pace: work or pour.", show_default=False)
    ],
    shelf: ShelfPath = None,
    as_json: AsJson = False,
) -> None:
    """From now on nothing is learned from what was seen of it so far; the log keeps it."""
    from firstpour.errors import BadRequest
    from firstpour.store.learned import TIMED, YIELD, learned_in
    from firstpour.store.opening import changing
    from firstpour.store.runs import forget as forget_in

    if what not in (YIELD, *TIMED):
        raise BadRequest(f"“{what}” is nothing that is learned.", remedy=f"Say one of: {', '.join((YIELD, *TIMED))}.")
    bench = bench_of(shelf)
    with changing(bench.store) as connection:
        forget_in(connection, what=what, about=about, at=now())
    bench_shown.show_learned(learned_in(bench.store), as_json=as_json)
