"""Does a test fail when a line of the weights, the ranking or the glue is wrong?

Run `make mutants`, with SAMPLE=40 for so many of each module (always the same ones; 0 for all), ONLY=ranking for
modules of that name, TESTS=test_draw for the files of tests of that name alone, LIST=1 to see the changes without
running. Tests of the module's own room are collected once; each mutant is put into a process forked from there, and
the tests that run through the changed line are run in it, the quick ones first, until one fails. Changes that make no
difference to anybody are listed with a reason in mutants-equal.txt.
"""

import ast
import contextlib
import os
import pickle
import random
import select
import signal
import sys
import time
import types
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from _pytest.runner import runtestprotocol
from mutate import Mutant, mutants_of

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "src" / "firstpour"
EQUAL = Path(__file__).parent / "mutants-equal.txt"
WEIGHTS = (
    "parting/ranking.py",
    "parting/seam_estimate.py",
    "parting/draw.py",
    "parting/draw_findings.py",
    "parting/candidates.py",
    "parting/allot.py",
    "fill/pour.py",
    "fill/vents.py",
    "fill/last_vent.py",
    "fill/breathing.py",
    "fill/channels.py",
    "fill/channel_findings.py",
    "fill/flow.py",
    "fill/flow_remedies.py",
    "fill/mouths.py",
    "fill/wedge.py",
    "printing/flaw.py",
    "printing/suction.py",
)
"""Modules that weigh and rank."""
GLUE = ("plan", "results")
"""Rooms that hand on: all of their modules but those in `ANY_FIGURE`."""
ANY_FIGURE = ("plan/ready.py",)
"""The small part on which kernels are compiled ahead may have any size."""
ALSO = {"plan": ("cavities",)}
"""Rooms whose tests run through a room as well, and are run with its own."""
LEFT_OUT = ("test_golden", "test_ready", "test_demo_plan")
"""Tests that plan the whole demo or compile: too slow to run for each mutant."""
MOST_S = 6.0
"""So much of tests is run for one mutant, the quick ones first."""
SLOWER, GRACE_S = 4.0, 8.0
"""A mutant whose tests take so many times as long as without it, and so many seconds, hangs: it is killed."""
SEED = 44


@dataclass
class Told:
    """What a test runs through when nothing is changed: its time, and its lines of each module.

    `set_up_s`: seconds that each fixture takes which several tests share; a test's own time is without them.
    """

    seconds: dict[int, float] = field(default_factory=dict)
    set_up_s: dict[str, float] = field(default_factory=dict)
    lines: dict[str, dict[int, set[int]]] = field(default_factory=dict)


class Tracer:
    """Which lines of the modules run; lines while fixtures are set up count for every test that uses the fixtures."""

    def __init__(self, files: dict[str, str]) -> None:
        self.files, self.seen = files, {}  # type: dict[str, str], dict[str, set[int]]

    def __enter__(self) -> "Tracer":
        self.seen = {name: set() for name in self.files.values()}
        sys.settrace(self._call)
        return self

    def __exit__(self, *_: object) -> None:
        sys.settrace(None)

    def _call(self, frame: types.FrameType, _event: str, _arg: object) -> object:
        name = self.files.get(frame.f_code.co_filename)
        if name is None:
            return None
        seen = self.seen[name]

        def line(frame: types.FrameType, _event: str, _arg: object) -> object:
            seen.add(frame.f_lineno)
            return line

        seen.add(frame.f_lineno)
        return line


class Run:
    """The plugin: takes the place of the loop over the tests."""

    def __init__(self, names: Sequence[str], sample: int) -> None:
        self.names, self.sample = names, sample
        self.set_up_s: dict[str, float] = {}
        self.slow_anyway: dict[tuple[int, ...], bool] = {}

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: pytest.FixtureDef[object]) -> Iterator[None]:
        began = time.perf_counter()
        try:
            return (yield)
        finally:
            if fixturedef.scope != "function":
                name = fixture_name(fixturedef)
                self.set_up_s[name] = max(self.set_up_s.get(name, 0.0), time.perf_counter() - began)

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        items = [item for item in session.items if not any(word in item.nodeid for word in LEFT_OUT)]
        told = in_child(lambda: baseline(items, self.names, self.set_up_s), limit_s=900.0)
        if not isinstance(told, Told):
            sys.exit(f"the tests fail without any change: {told}")
        print(f"{len(items)} tests, {sum(told.seconds.values()):.0f} s without any change", flush=True)
        equal = equal_changes()
        total = [0, 0]
        for name in self.names:
            killed, survivors, left_out = self._module(name, items, told, equal)
            total[0] += killed
            total[1] += len(survivors)
            share = 100 * killed / max(1, killed + len(survivors))
            print(f"{name}: {killed} killed, {len(survivors)} survived, {share:.0f} %; {left_out} equal", flush=True)
            for mutant, why in survivors:
                print(f"    src/firstpour/{name}:{mutant.line} {mutant.scope}: {mutant.change}   ({why})", flush=True)
        print(f"all: {total[0]} killed, {total[1]} survived, {100 * total[0] / max(1, sum(total)):.1f} %", flush=True)
        return True

    def _module(
        self, name: str, items: Sequence[pytest.Item], told: Told, equal: set[tuple[str, str, str]]
    ) -> tuple[int, list[tuple[Mutant, str]], int]:
        killed, survivors = 0, []
        every = mutants_of((PACKAGE / name).read_text(encoding="utf-8"), file=str(PACKAGE / name))
        counted = [mutant for mutant in every if (name, mutant.scope, mutant.change) not in equal]
        for of, scope, change in sorted(equal - {(name, mutant.scope, mutant.change) for mutant in every}):
            if of == name:
                print(f"{EQUAL.name} lists what is no longer there: {of} | {scope} | {change}", flush=True)
        for mutant in sampled(counted, self.sample):
            chosen, cost_s = tests_for(name, mutant, items, told)
            if not chosen:
                survivors.append((mutant, "no test runs it"))
                continue
            some, limit_s = [items[n] for n in chosen], SLOWER * cost_s + GRACE_S
            answer = in_child(lambda: survives(name, mutant, some), limit_s=limit_s)  # noqa: B023
            if answer is True:
                survivors.append((mutant, f"{len(chosen)} tests"))
            elif answer is None and self._slow_anyway(chosen, some, limit_s):
                survivors.append((mutant, "the tests take too long by themselves"))
            else:
                killed += 1
        return killed, survivors, len(every) - len(counted)

    def _slow_anyway(self, chosen: Sequence[int], items: Sequence[pytest.Item], limit_s: float) -> bool:
        """Whether the tests do not end in time without any change either: what one of them keeps others wait for."""
        key = tuple(chosen)
        if key not in self.slow_anyway:
            self.slow_anyway[key] = in_child(lambda: pass_all(items), limit_s=limit_s) is not True
        return self.slow_anyway[key]


def sampled(mutants: Sequence[Mutant], count: int) -> list[Mutant]:
    """So many of the mutants, always the same ones, in their order; all of them for 0."""
    if not count or count >= len(mutants):
        return list(mutants)
    return [mutants[n] for n in sorted(random.Random(SEED).sample(range(len(mutants)), count))]


def tests_for(name: str, mutant: Mutant, items: Sequence[pytest.Item], told: Told) -> tuple[list[int], float]:
    """Tests that run through the changed line (any of the module for a constant), the quick ones first, and seconds.

    A test alone sets up what it shares with others: that counts for the first that needs it.
    """
    lines = told.lines[name]
    if (mutant.scope and "." not in mutant.scope and mutant.scope[0].isupper()) or not mutant.scope:
        through = [n for n, seen in lines.items() if seen]
    else:
        through = [n for n, seen in lines.items() if seen & around(name, mutant.line)]
    shares = {n: {one: told.set_up_s.get(one, 0.0) for one in wide_fixtures(items[n])} for n in through}
    chosen, own_s, ready = [], 0.0, set[str]()
    for n in sorted(through, key=lambda n: told.seconds[n] + sum(shares[n].values())):
        more_s = own_s + told.seconds[n] + sum(shares[n][one] for one in shares[n].keys() - ready)
        if chosen and more_s > MOST_S:
            break
        chosen.append(n)
        own_s += told.seconds[n]
        ready |= shares[n].keys()
    used_s = own_s + sum(told.set_up_s.get(one, 0.0) for one in ready)
    return chosen, used_s


_STATEMENTS: dict[str, list[tuple[int, int]]] = {}


def around(name: str, line: int) -> set[int]:
    """The lines of the smallest simple statement at the line (an expression reports only some of its lines)."""
    if name not in _STATEMENTS:
        tree = ast.parse((PACKAGE / name).read_text(encoding="utf-8"))
        _STATEMENTS[name] = [
            (node.lineno, node.body[0].lineno - 1 if getattr(node, "body", None) else node.end_lineno or node.lineno)
            for node in ast.walk(tree)
            if isinstance(node, ast.stmt)
        ]
    spans = [(last - first, first, last) for first, last in _STATEMENTS[name] if first <= line <= last]
    if not spans:
        return {line}
    _, first, last = min(spans)
    return set(range(first, last + 1))


def baseline(items: Sequence[pytest.Item], names: Sequence[str], set_up_s: dict[str, float]) -> Told:
    """Run all tests once and tell what each runs through; `set_up_s` fills as their fixtures are set up."""
    told = Told(lines={name: {} for name in names}, set_up_s=set_up_s)
    shared: dict[str, dict[str, set[int]]] = {}
    files = {str(PACKAGE / name): name for name in names}
    for n, item in enumerate(items):
        began, before_s = time.perf_counter(), sum(set_up_s.values())
        following = items[n + 1] if n + 1 < len(items) else None
        with Tracer(files) as tracer:
            reports = runtestprotocol(item, nextitem=following, log=False)
        told.seconds[n] = max(0.0, time.perf_counter() - began - sum(set_up_s.values()) + before_s)
        bad = [report for report in reports if report.failed]
        if bad:
            raise RuntimeError(f"{item.nodeid}\n{bad[0].longreprtext[-2000:]}")
        fixtures = wide_fixtures(item)
        for name, seen in tracer.seen.items():
            told.lines[name][n] = seen
            for fixture in fixtures:
                shared.setdefault(fixture, {}).setdefault(name, set()).update(seen)
    for n, item in enumerate(items):
        for fixture in wide_fixtures(item):
            for name, seen in shared.get(fixture, {}).items():
                told.lines[name][n] = told.lines[name][n] | seen
    return told


def wide_fixtures(item: pytest.Item) -> list[str]:
    """Fixtures of the test that other tests share, named with where they stand."""
    info = getattr(item, "_fixtureinfo", None)
    if info is None:
        return []
    wide = [found[-1] for found in info.name2fixturedefs.values() if found[-1].scope != "function"]
    return [fixture_name(one) for one in wide if one.argname not in ("tmp_path_factory", "nobodys_own_workshop")]


def fixture_name(fixture: pytest.FixtureDef[object]) -> str:
    """The name of a fixture with the file or folder that it stands in."""
    return f"{fixture.baseid}:{fixture.argname}"


def survives(name: str, mutant: Mutant, items: Sequence[pytest.Item]) -> bool:
    """Whether all of the tests pass with the change."""
    put_in(name, mutant)
    return pass_all(items)


def pass_all(items: Sequence[pytest.Item]) -> bool:
    """Whether all of the tests pass, up to the first that does not."""
    for n, item in enumerate(items):
        following = items[n + 1] if n + 1 < len(items) else None
        if any(report.failed for report in runtestprotocol(item, nextitem=following, log=False)):
            return False
    return True


def put_in(name: str, mutant: Mutant) -> None:
    """Change the module that everything has imported already: its functions and its constants, wherever they went."""
    known = sys.modules["firstpour." + name[: -len(".py")].replace("/", ".")]
    fresh = types.ModuleType(known.__name__)
    fresh.__file__ = known.__file__
    sys.modules[known.__name__] = fresh  # dataclasses look up their module while they are made
    try:
        exec(mutant.code, fresh.__dict__)
    finally:
        sys.modules[known.__name__] = known
    for key, new in vars(fresh).items():
        old = vars(known).get(key)
        if key.startswith("__") or old is None or getattr(new, "__module__", known.__name__) != known.__name__:
            continue
        if isinstance(new, type):
            for attribute, member in vars(new).items():
                _same_function(vars(old).get(attribute), member)
        elif not _same_function(old, new) and repr(old) != repr(new):
            for module in list(sys.modules.values()):
                if getattr(module, key, None) is old:
                    setattr(module, key, new)


def _same_function(old: object, new: object) -> bool:
    """Give the old function the body and the defaults of the new one; False if they are none."""
    for part in ("__wrapped__", "__func__", "fget"):
        if hasattr(old, part) and hasattr(new, part):
            return _same_function(getattr(old, part), getattr(new, part))
    if not isinstance(old, types.FunctionType) or not isinstance(new, types.FunctionType):
        return False
    if old.__code__.co_freevars == new.__code__.co_freevars:
        old.__code__ = new.__code__
        old.__defaults__, old.__kwdefaults__ = new.__defaults__, new.__kwdefaults__
    return True


def in_child(work: object, *, limit_s: float) -> object:
    """What the work gives in a forked process: a value, or None where it broke or took longer than the limit."""
    read, write = os.pipe()
    sys.stdout.flush()
    child = os.fork()
    if child == 0:
        os.close(read)
        os.setpgrp()
        with contextlib.suppress(BaseException):
            try:
                answer = work()  # type: ignore[operator]
            except Exception as error:
                answer = f"{type(error).__name__}: {error}"
            with os.fdopen(write, "wb") as pipe:
                pickle.dump(answer, pipe)
        os._exit(0)
    os.close(write)
    content, ends = b"", time.monotonic() + limit_s
    while select.select([read], [], [], max(0.0, ends - time.monotonic()))[0]:
        some = os.read(read, 1 << 16)
        if not some:
            break
        content += some
    os.close(read)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    try:
        return pickle.loads(content)
    except (EOFError, pickle.UnpicklingError):
        return None


def equal_changes() -> set[tuple[str, str, str]]:
    """Changes listed as making no difference: module | scope | change | reason."""
    rows = [line.split(" | ") for line in EQUAL.read_text(encoding="utf-8").splitlines() if line.count(" | ") >= 3]
    return {(row[0], row[1], " | ".join(row[2:-1])) for row in rows}


def modules() -> Iterator[str]:
    """The modules that are changed, in the order in which they are run."""
    yield from WEIGHTS
    for room in GLUE:
        found = (f"{room}/{path.name}" for path in sorted((PACKAGE / room).glob("*.py")))
        yield from (name for name in found if name not in ANY_FIGURE)


def with_word(names: Iterable[str], words: str) -> list[str]:
    """The names that have one of the words in them; all without any word."""
    return [name for name in names if not words or any(word in name for word in words.split(","))]


def main() -> None:
    """Run or list the mutants, as the environment asks."""
    names = with_word(modules(), os.environ.get("ONLY", ""))
    if os.environ.get("LIST"):
        for name in names:
            for mutant in mutants_of((PACKAGE / name).read_text(encoding="utf-8"), file=name):
                print(f"{name}:{mutant.line} {mutant.scope}: {mutant.change}")
        return
    for room in dict.fromkeys(name.split("/")[0] for name in names):
        run = Run([name for name in names if name.startswith(room)], int(os.environ.get("SAMPLE") or 0))
        tests = [
            path for home in (room, *ALSO.get(room, ())) for path in sorted(ROOT.glob(f"tests/{home}/test_*.py"))
        ]
        wanted = with_word((path.name for path in tests), os.environ.get("TESTS", ""))
        files = [str(path) for path in tests if path.name in wanted]
        code = pytest.main(["-q", "-p", "no:cacheprovider", *files], plugins=[run])
        if code:
            sys.exit(code)


if __name__ == "__main__":
    main()
