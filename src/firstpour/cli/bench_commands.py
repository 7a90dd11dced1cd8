"""Commands at the bench: sessions step by step, each a word or two, for hands with gloves on and for scripts."""

from pathlib import Path
from typing import Annotated

import typer

from firstpour.cli import bench_doing, bench_learning, bench_shown, show
from firstpour.cli.bench_opened import MOST_ID, AsJson, Note, SessionNumber, bench_of, now, session_of
from firstpour.cli.job_opened import ShelfPath
from firstpour.cli.numbers import limited

NOT_READ = "written by another version"


def register(app: typer.Typer) -> None:
    """Attach the group `bench`."""
    bench = typer.Typer(
        help="Stand at the bench: step by step, clocks, weighing, what came out.", no_args_is_help=True
    )
    for name, command in (
        ("keep", keep),
        ("plans", plans),
        ("start", start),
        ("list", list_sessions),
        ("show", show_session),
        ("next", bench_doing.next_step),
        ("weigh", bench_doing.weigh),
        ("outcome", bench_doing.outcome),
        ("why", bench_learning.why),
        ("clock", bench_doing.clock),
        ("clocks", clocks),
        ("note", bench_doing.note),
        ("photo", bench_doing.photo),
        ("new-mould", bench_doing.new_mould),
        ("undo", bench_doing.undo),
        ("stop", stop),
        ("days", bench_learning.days),
        ("learned", bench_learning.learned),
        ("forget", bench_learning.forget),
        ("walk", walk),
    ):
        bench.command(name)(command)
    app.add_typer(bench, name="bench")


def keep(
    plan: Annotated[Path, typer.Argument(help="The folder of a plan, or its plan.json.", show_default=False)],
    shelf: ShelfPath = None,
    as_json: AsJson = False,
) -> None:
    """Keep a plan as it is, so that its parts can be made from it."""
    from firstpour.bench.kept import keep_plan

    number = keep_plan(bench_of(shelf), plan, at=now())
    if as_json:
        show.print_json({"plan": number})
    else:
        show.print_words(f"Kept as plan {number}. Begin with: firstpour bench start {number} PART")


def plans(shelf: ShelfPath = None, as_json: AsJson = False) -> None:
    """The plans that are kept, with their parts."""
    from firstpour.bench.kept import kept_plans
    from firstpour.bench.read import part_names

    kept = [(one, part_names(one.content)) for one in kept_plans(bench_of(shelf))]
    if as_json:
        rows = [
            {
                "plan": one.id,
                "job": one.job,
                "kept_at": one.kept_at.isoformat(),
                "digest": one.digest,
                "made_from": dict(one.made_from),
                "made_by": one.made_by,
                "folder": one.folder,
                "parts": parts,
            }
            for one, parts in kept
        ]
        show.print_json({"plans": rows})
        return
    for one, parts in kept:
        show.print_words(
            f"Plan {one.id}, {one.job}, kept {bench_shown.moment_words(one.kept_at)}: {', '.join(parts) or NOT_READ}"
        )
    if not kept:
        show.print_words("No plan is kept yet: firstpour bench keep FOLDER keeps one.")


def start(
    plan: Annotated[int, typer.Argument(min=1, max=MOST_ID, help="Number of the kept plan.", show_default=False)],
    part: Annotated[str, typer.Argument(help="Name of the part.", show_default=False)],
    moulds: Annotated[int | None, limited(1, 99, "Moulds to make; as planned if not given.")] = None,
    temperature_c: Annotated[float | None, limited(0, 50, "What the thermometer says, in °C.")] = None,
    shelf: ShelfPath = None,
    as_json: AsJson = False,
) -> None:
    """Begin to make a part of a kept plan."""
    from firstpour.bench.sessions import start as begin

    state = begin(bench_of(shelf), plan=plan, part=part, at=now(), moulds=moulds, temperature_c=temperature_c)
    bench_shown.show_state(state, at=now(), as_json=as_json)


def list_sessions(
    done: Annotated[bool, typer.Option("--done", help="Also those that are done.")] = False,
    shelf: ShelfPath = None,
    as_json: AsJson = False,
) -> None:
    """The sessions that are open: what is next, and the clock that ends first."""
    from firstpour.bench.sessions import open_sessions, unread_sessions

    at, bench = now(), bench_of(shelf)
    lines, unread = open_sessions(bench, at=at, also_done=["done"] if done else []), unread_sessions(bench)
    if as_json:
        show.print_json({"sessions": bench_shown.as_tables(lines), "findings": bench_shown.as_tables(unread)})
        return
    show.print_findings(unread)
    for one in lines:
        clock = "" if one.clock is None else f" · {bench_shown.clock_words(one.clock)}"
        show.print_words(
            f"{one.session}: {one.part} ({one.job}), {one.good} of {one.copies} good · {one.stage}: {one.next}{clock}"
        )
    if not lines:
        show.print_words("No session is open.")


def show_session(session: SessionNumber = None, shelf: ShelfPath = None, as_json: AsJson = False) -> None:
    """The step that is to be done, with what to lay out, and the clocks."""
    from firstpour.bench.sessions import state

    bench = bench_of(shelf)
    bench_shown.show_state(state(bench, session_of(bench, session), at=now()), at=now(), as_json=as_json)


def clocks(shelf: ShelfPath = None, as_json: AsJson = False) -> None:
    """Every clock that runs, of all sessions, the first to end on top."""
    from firstpour.bench.sessions import open_sessions, state

    bench, at = bench_of(shelf), now()
    found = [(line, one) for line in open_sessions(bench, at=at) for one in state(bench, line.session, at=at).clocks]
    found.sort(key=lambda pair: pair[1].ends_at)
    if as_json:
        rows = [{"session": line.session, "part": line.part, **bench_shown.as_table(one)} for line, one in found]
        show.print_json({"clocks": rows})
        return
    for line, one in found:
        show.print_words(f"{line.session}, {line.part}: {bench_shown.clock_words(one)}")
    if not found:
        show.print_words("No clock runs.")


def stop(note: Note = "", session: SessionNumber = None, shelf: ShelfPath = None, as_json: AsJson = False) -> None:
    """End a session before all copies are there; undo takes it up again."""
    from firstpour.bench.sessions import stop as end

    bench, at = bench_of(shelf), now()
    bench_shown.show_state(end(bench, session_of(bench, session), at=at, note=note), at=at, as_json=as_json)


def walk(session: SessionNumber = None, shelf: ShelfPath = None) -> None:
    """Go through a session at the screen: Enter for done, grams where it is weighed, u to take back, q to leave."""
    from firstpour.bench.sessions import state
    from firstpour.cli.bench_walk import walk_through

    bench = bench_of(shelf)
    number = session_of(bench, session)
    walk_through(bench, state(bench, number, at=now()), now=now)
