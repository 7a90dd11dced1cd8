"""Commands at the bench: sessions step by step, each a word or two, for hands with gloves on and for scripts."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from firstpour.cli import bench_shown, show
from firstpour.cli.job_opened import Processes, ShelfPath, opened
from firstpour.cli.numbers import limited
from firstpour.cli.workshop_commands import WorkshopPath

if TYPE_CHECKING:
    from firstpour.bench.session import Bench

AsJson = Annotated[bool, show.JSON_OPTION]
MOST_ID = 10**9
NOT_READ = "written by another version"
SessionNumber = Annotated[
    int | None, limited(1, MOST_ID, "Which session; not needed while one alone is open.", metavar="N")
]
Note = Annotated[str, typer.Option(help="A few words to keep with it.")]


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
        ("next", next_step),
        ("weigh", weigh),
        ("outcome", outcome),
        ("why", why),
        ("clock", clock),
        ("clocks", clocks),
        ("note", note),
        ("photo", photo),
        ("new-mould", new_mould),
        ("undo", undo),
        ("stop", stop),
        ("days", days),
        ("learned", learned),
        ("forget", forget),
        ("walk", walk),
    ):
        bench.command(name)(command)
    app.add_typer(bench, name="bench")


def now() -> datetime:
    """The moment, with its zone."""
    return datetime.now().astimezone()


def keep(
    plan: Annotated[Path, typer.Argument(help="The folder of a plan, or its plan.json.", show_default=False)],
    shelf: ShelfPath = None,
    as_json: AsJson = False,
) -> None:
    """Keep a plan as it is, so that its parts can be made from it."""
    from firstpour.bench.session import keep_plan

    number = keep_plan(_bench(shelf), plan, at=now())
    if as_json:
        show.print_json({"plan": number})
    else:
        show.print_words(f"Kept as plan {number}. Begin with: firstpour bench start {number} PART")


def plans(shelf: ShelfPath = None, as_json: AsJson = False) -> None:
    """The plans that are kept, with their parts."""
    from firstpour.bench.session import kept_plans
    from firstpour.bench.state import part_names

    kept = [(one, part_names(one.content)) for one in kept_plans(_bench(shelf))]
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
    from firstpour.bench.session import start as begin

    state = begin(_bench(shelf), plan=plan, part=part, at=now(), moulds=moulds, temperature_c=temperature_c)
    bench_shown.show_state(state, at=now(), as_json=as_json)


def list_sessions(
    done: Annotated[bool, typer.Option("--done", help="Also those that are done.")] = False,
    shelf: ShelfPath = None,
    as_json: AsJson = False,
) -> None:
    """The sessions that are open: what is next, and the clock that ends first."""
    from firstpour.bench.session import open_sessions, unread_sessions

    at, bench = now(), _bench(shelf)
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
    from firstpour.bench.session import state

    bench = _bench(shelf)
    bench_shown.show_state(state(bench, _session(bench, session), at=now()), at=now(), as_json=as_json)


def next_step(
    note: Note = "", session: SessionNumber = None, shelf: ShelfPath = None, as_json: AsJson = False
) -> None:
    """The step is done: on to the next. Its clock starts now."""
    from firstpour.bench.session import advance

    bench, at = _bench(shelf), now()
    bench_shown.show_state(advance(bench, _session(bench, session), at=at, note=note), at=at, as_json=as_json)


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
    from firstpour.bench.session import weigh_in

    bench, at = _bench(shelf), now()
    a_g, b_g = grams_typed(grams)
    added = dict(_additive(one) for one in additive or [])
    answer = weigh_in(bench, _session(bench, session), at=at, a_g=a_g, b_g=b_g, additives_g=added)
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
    from firstpour.bench.session import record_outcome
    from firstpour.errors import BadRequest

    said = defects or []
    if not said or ("good" in said and len(said) > 1):
        raise BadRequest(
            "what came out is not said.", remedy="Say good, or each defect as “flash @ along the parting”."
        )
    found = [] if said == ["good"] else [defect_said(one) for one in said]
    bench, at = _bench(shelf), now()
    state = record_outcome(bench, _session(bench, session), at=at, defects=found, note=note)
    bench_shown.show_state(state, at=at, as_json=as_json)


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

    bench = _bench(shelf)
    given = _latest(bench) if session is None else session
    bench_shown.show_causes(diagnose(bench, given, outcome=number), as_json=as_json)


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
    from firstpour.bench.session import start_clock

    bench, at = _bench(shelf), now()
    state = start_clock(bench, _session(bench, session), at=at, name=name, minutes=minutes)
    bench_shown.show_state(state, at=at, as_json=as_json)


def clocks(shelf: ShelfPath = None, as_json: AsJson = False) -> None:
    """Every clock that runs, of all sessions, the first to end on top."""
    from firstpour.bench.session import open_sessions, state

    bench, at = _bench(shelf), now()
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


def note(
    what: Annotated[str, typer.Argument(help="What was read off: room, print minutes, …", show_default=False)],
    value: Annotated[float, typer.Argument(min=-273, max=1_000_000, help="The figure.", show_default=False)],
    unit: Annotated[str, typer.Argument(help="Its unit: °C, min, g, …", show_default=False)],
    session: SessionNumber = None,
    shelf: ShelfPath = None,
    as_json: AsJson = False,
) -> None:
    """Keep a figure that was read off, with the step at hand."""
    from firstpour.bench.session import measure

    bench, at = _bench(shelf), now()
    state = measure(bench, _session(bench, session), at=at, what=what, value=value, unit=unit)
    bench_shown.show_state(state, at=at, as_json=as_json)


def photo(
    file: Annotated[Path, typer.Argument(help="A picture.", show_default=False)],
    session: SessionNumber = None,
    shelf: ShelfPath = None,
    as_json: AsJson = False,
) -> None:
    """Keep a photo with the step at hand."""
    from firstpour.bench.session import add_photo

    bench = _bench(shelf)
    kept = add_photo(bench, _session(bench, session), at=now(), file=file)
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
    from firstpour.bench.session import new_mould as renew

    bench, at = _bench(shelf), now()
    bench_shown.show_state(
        renew(bench, _session(bench, session), at=at, instead_of=instead_of), at=at, as_json=as_json
    )


def undo(session: SessionNumber = None, shelf: ShelfPath = None, as_json: AsJson = False) -> None:
    """Take the last entry back, with its clock and what it took off the shelf."""
    from firstpour.bench.session import undo as take_back

    bench, at = _bench(shelf), now()
    number = _latest(bench) if session is None else session
    bench_shown.show_state(take_back(bench, number, at=at), at=at, as_json=as_json)


def stop(note: Note = "", session: SessionNumber = None, shelf: ShelfPath = None, as_json: AsJson = False) -> None:
    """End a session before all copies are there; undo takes it up again."""
    from firstpour.bench.session import stop as end

    bench, at = _bench(shelf), now()
    bench_shown.show_state(end(bench, _session(bench, session), at=at, note=note), at=at, as_json=as_json)


def days(
    job: Annotated[Path, typer.Argument(help="The job file whose parts are at the bench.", show_default=False)],
    shelf: ShelfPath = None,
    processes: Processes = None,
    workshop: WorkshopPath = None,
    as_json: AsJson = False,
) -> None:
    """The days that are left, put in order anew from what is done: the next proof, the last copy."""
    from firstpour.bench.again import put_in_order_again
    from firstpour.plan import crew_of, get_ready, kept_folder, make_plan

    asked, here = opened(job, shelf=shelf, workshop=workshop)
    with show.progress(asked.name) as told, crew_of(processes) as crew:
        get_ready(crew, told)
        plan = make_plan(asked, progress=told, workshop=here, crew=crew, kept=kept_folder())
        again = put_in_order_again(_bench(shelf), plan, at=now())
    bench_shown.show_again(again, as_json=as_json)


def learned(shelf: ShelfPath = None, as_json: AsJson = False) -> None:
    """What the next plan takes from what was seen here, each with the number of times that it was seen."""
    from firstpour.store.learned import learned_in

    bench_shown.show_learned(learned_in(_bench(shelf).store), as_json=as_json)


def forget(
    what: Annotated[str, typer.Argument(help="yield, pot life, demould or print minutes.", show_default=False)],
    about: Annotated[str, typer.Argument(help="The part, the material or the process.", show_default=False)],
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
    bench = _bench(shelf)
    with changing(bench.store) as connection:
        forget_in(connection, what=what, about=about, at=now())
    bench_shown.show_learned(learned_in(bench.store), as_json=as_json)


def walk(session: SessionNumber = None, shelf: ShelfPath = None) -> None:
    """Go through a session at the screen: Enter for done, grams where it is weighed, u to take back, q to leave."""
    from firstpour.bench.session import state
    from firstpour.cli.bench_walk import walk_through

    bench = _bench(shelf)
    number = _session(bench, session)
    walk_through(bench, state(bench, number, at=now()), now=now)


def _bench(shelf: Path | None) -> "Bench":
    from firstpour.bench.session import Bench
    from firstpour.files.catalogue import load_catalogue
    from firstpour.files.places import existing_shelf, store_place

    folder = existing_shelf(shelf)
    return Bench(store=store_place(folder), catalogue=load_catalogue(folder))


def _session(bench: "Bench", given: int | None) -> int:
    """The session that is meant: the one given, or the only one that is open."""
    from firstpour.bench.session import open_sessions
    from firstpour.errors import BadRequest

    if given is not None:
        return given
    lines = open_sessions(bench, at=now())
    if len(lines) == 1:
        return lines[0].session
    if not lines:
        raise BadRequest("no session is open.", remedy="start one from a kept plan")
    names = ", ".join(f"{one.session} ({one.part})" for one in lines)
    raise BadRequest(f"{len(lines)} sessions are open: {names}.", remedy="say which session is meant")


def _latest(bench: "Bench") -> int:
    """The only session that is open; else the last that was begun, for what ended it is what is taken back."""
    from firstpour.bench.session import open_sessions

    lines = open_sessions(bench, at=now())
    every = open_sessions(bench, at=now(), also_done=["done"])
    return every[-1].session if not lines and every else _session(bench, None)


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
