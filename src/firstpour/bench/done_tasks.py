"""Which tasks of the schedule the log of a session shows as done, and when each ended."""

from datetime import datetime, timedelta

from firstpour.bench.course import before_rounds, mould_stage, moulds_in, round_stage, rounds_begun
from firstpour.bench.read import Session
from firstpour.bench.steps import StepKind
from firstpour.schedule.replan import Stretch
from firstpour.sheets.other_pages import first_steps
from firstpour.store.runs import EntryKind, LogEntry

ENTERED_MIN = 1.0
"""A task that the bench tells as done is taken to have ended then, a minute long: only its end matters."""


def done_tasks(session: Session, *, at: datetime) -> dict[str, Stretch]:
    """The tasks that the log shows as done, by their ids. What comes before one of them is done as well."""
    found = _printed(session) if session.printed is not None else {**_ready(session), **_moulds(session)}
    found |= _rounds(session)
    return {name: _stretch(entry.at, at) for name, entry in found.items()}


def _stretch(ended: datetime, at: datetime) -> Stretch:
    end = min(ended, at)
    return Stretch(start=end - timedelta(minutes=ENTERED_MIN), end=end)


def _ready(session: Session) -> dict[str, LogEntry]:
    """Prints started and taken off, and the work on the surface."""
    assert session.cast is not None
    part, finished = session.part.name, session.finished
    found: dict[str, LogEntry] = {}
    for n, one in enumerate(session.cast.prints, start=1):
        for name, task in ((f"ready/print-{n}", "start"), (f"ready/printed-{n}", "off")):
            if name in finished:
                found[f"{part}/{one.piece} {task}"] = finished[name]
    for n, step in enumerate(first_steps(session.cast), start=1):
        for name, task in ((f"ready/surface-{n}", step.id), (f"ready/surface-{n}-wait", f"{step.id} wait")):
            if name in finished:
                found[f"{part}/{task}"] = finished[name]
    return found


def _moulds(session: Session) -> dict[str, LogEntry]:
    """The pours of silicone, and the moulds that are open."""
    renewed = sum(one.kind is EntryKind.NEW_MOULD for one in session.log)
    found: dict[str, LogEntry] = {}
    stages = before_rounds(session)[1:]
    latest = session.run.moulds
    stages += tuple(mould_stage(session, latest + n) for n in range(1, renewed + 1))
    for number, stage in enumerate(stages, start=1):
        key = f"{session.part.name}/mould {number}"
        for step in stage.steps:
            entry = session.finished.get(step.id)
            if step.kind is StepKind.POUR and entry is not None:
                found[f"{key} pour {step.id.split('/')[1]}"] = entry
        last = session.finished.get(stage.steps[-1].id) if stage.steps else None
        if last is not None:
            found[f"{key} open"] = last
    return found


def _rounds(session: Session) -> dict[str, LogEntry]:
    """Casts poured, and rounds taken out."""
    if session.printed is not None:
        return {}
    part, found = session.part.name, dict[str, LogEntry]()
    for number in range(1, rounds_begun(session) + 1):
        steps = round_stage(session, number, moulds_in(session, number)).steps
        pours = [one for one in steps if one.kind is StepKind.POUR and one.id in session.finished]
        if pours:
            found[f"{part}/round {number} cast"] = session.finished[pours[-1].id]
        answers = [session.finished.get(one.id) for one in steps if one.kind is StepKind.OUTCOME]
        answered = [one for one in answers if one is not None]
        if answered and len(answered) == len(answers):
            found[f"{part}/round {number} out"] = answered[-1]
    return found


def _printed(session: Session) -> dict[str, LogEntry]:
    """Plates started, taken off and worked on, and the finish."""
    printed = session.printed
    assert printed is not None
    part, finished = session.part.name, session.finished
    own = [one.what for one in printed.plate_work if not one.printing]
    steps: dict[str, str] = {}
    for number in range(1, rounds_begun(session) + 1):
        plate, prefix = f"{part}/plate {number}", f"round-{number}"
        steps |= {f"{prefix}/print": f"{plate} start", f"{prefix}/printed": f"{plate} off"}
        for n, what in enumerate(own, start=1):
            steps |= {f"{prefix}/{n}": f"{plate} {what}", f"{prefix}/{n}-wait": f"{plate} {what} wait"}
    for n, one in enumerate(printed.afterwards, start=1):
        steps |= {f"finish/{n}": f"{part}/{one.what}", f"finish/{n}-wait": f"{part}/{one.what} wait"}
    return {task: finished[name] for name, task in steps.items() if name in finished}
