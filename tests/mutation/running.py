"""Runs mutants, each in a child process of one that has everything imported and collected (needs fork).

A mutant inside a function is put into the living function objects; one that takes effect at import is run by a child
that imports the program anew. A child stops at the first test that fails and is stopped when a test hangs.
"""

from __future__ import annotations

import gc
import importlib
import os
import resource
import signal
import sys
import traceback
from collections import Counter
from dataclasses import dataclass
from functools import partial
from itertools import groupby
from types import CodeType, FunctionType
from typing import TYPE_CHECKING

import pytest
from _pytest.runner import runtestprotocol
from tests.mutation.operators import mutants_of
from tests.mutation.touched import COMPUTE, PACKAGE, ROOT, Changed, compiled, file_of, path_of, source_of

if TYPE_CHECKING:
    import ast
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from tests.mutation.operators import Mutant

LOG = ROOT / "build" / "mutation" / "pytest.log"
PROFILE = "mutation"
_IMPORTED = "ignore::pytest.PytestAssertRewriteWarning"  # hypothesis is there before pytest, on purpose
OPTIONS = ("-q", "-W", _IMPORTED, "-p", "no:cacheprovider", "--capture=no", f"--hypothesis-profile={PROFILE}")
_HANG_TIMES, _HANG_SECONDS = 5.0, 5.0  # of processor time, so that a busy machine kills no mutant
_MEMORY_BYTES = 8 * 2**30
_RECENT = 8

KILLED, HANGED, SURVIVED, BROKEN, NOT_SWAPPED = "killed", "hanged", "survived", "broken", "not swapped"
_NOT_SWAPPED = 4
_CODES = {0: SURVIVED, 1: KILLED, 3: BROKEN, _NOT_SWAPPED: NOT_SWAPPED}


@dataclass(frozen=True, slots=True)
class Job:
    """A mutant, where its edit stands among those of its module, and its tests.

    seconds: of the slowest test in the file of each, as any may be the one that pays for what they share.
    tests: those that see a change of the living functions; anew: those whose file runs the statement when imported,
    so that the program must be imported anew.
    """

    mutant: Mutant
    place: int
    tests: tuple[str, ...]
    anew: tuple[str, ...]
    seconds: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a mutant, and the test that killed it."""

    job: Job
    verdict: str
    killer: str


def pytest_main(arguments: Sequence[str], plugin: object) -> int:
    """Run pytest here with the options of the campaign; what it prints goes to a file."""
    os.chdir(ROOT)
    log = os.open(LOG, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o644)
    for stream in (1, 2):
        os.dup2(log, stream)
    return int(pytest.main([*OPTIONS, *arguments], plugins=[plugin]))


def in_child(work: Callable[[], int]) -> int:
    """Run ``work`` in a forked child; its exit code, or minus the signal that ended it."""
    child = os.fork()
    if child == 0:
        code = 3
        try:
            code = work()
        except BaseException:  # noqa: BLE001  a child never goes back into the code of its parent
            traceback.print_exc()
        finally:
            sys.stdout.flush()
            os._exit(code)
    _, status = os.waitpid(child, 0)
    return os.waitstatus_to_exitcode(status)


def run_swapped(jobs: Sequence[Job], done: Callable[[Outcome], None]) -> int:
    """Mutants inside functions, all from one collection of the tests. ``done`` is called in the child."""
    files = sorted({file_of(test) for job in jobs for test in job.tests})
    return in_child(lambda: pytest_main(files, _Swapping(jobs, done)))


def run_imported(job: Job, killers: Sequence[str]) -> Outcome:
    """One mutant in children that import the program anew: the likely files first, then all others at once."""
    stem = f"test_{job.mutant.module}"
    first = {file_of(test) for test in [*killers[:1], *job.anew] if test in killers[:1] or stem in test}
    outcome = Outcome(job, SURVIVED, "")
    for likely in (True, False):
        tests = [test for test in ordered(job.anew, killers) if (file_of(test) in first) == likely]
        if tests and outcome.verdict == SURVIVED:
            outcome = _outcome(job, partial(_imported, job, tests))
    return outcome


def _imported(job: Job, tests: Sequence[str]) -> int:
    _quiet()
    tree, made = mutants_of(job.mutant.module, source_of(job.mutant.module))
    made[job.place][1].apply()
    sys.meta_path.insert(0, Changed(lambda module: (tree, {}) if module == job.mutant.module else None))
    picked = _Picked(job, tests)
    code = pytest_main(sorted({file_of(test) for test in tests}), picked)
    return picked.code if code == 0 else 1  # a program that cannot be imported is noticed too


def _quiet() -> None:
    null = os.open(os.devnull, os.O_RDWR)
    for stream in (1, 2):
        os.dup2(null, stream)
    resource.setrlimit(resource.RLIMIT_AS, (_MEMORY_BYTES, _MEMORY_BYTES))


def _outcome(job: Job, work: Callable[[], int]) -> Outcome:
    """``work`` in a child that names the killing test through a pipe."""
    reading, writing = os.pipe()

    def told() -> int:
        os.dup2(writing, _TELL)
        return work()

    code = in_child(told)
    os.close(writing)
    with os.fdopen(reading, encoding="utf-8") as pipe:
        killer = pipe.read()
    verdict = HANGED if code == -signal.SIGPROF else _CODES.get(code, KILLED)
    return Outcome(job, verdict, killer)


_TELL = 97


def _run_in_order(job: Job, items: Mapping[str, pytest.Item], order: Sequence[str]) -> int:
    """Run the tests until one fails: 1; none fails: 0. A test that hangs ends the process by its timer."""
    chosen = [items[test] for test in order]
    for item, following in zip(chosen, [*chosen[1:], None], strict=True):
        signal.setitimer(signal.ITIMER_PROF, _HANG_TIMES * job.seconds[item.nodeid] + _HANG_SECONDS)
        reports = runtestprotocol(item, log=False, nextitem=following or item)
        if any(report.failed for report in reports):
            os.write(_TELL, item.nodeid.encode())
            return 1
    signal.setitimer(signal.ITIMER_PROF, 0)
    return 0


def ordered(tests: Sequence[str], killers: Sequence[str]) -> list[str]:
    """Tests that killed a neighbour first, then as they come."""
    first = [test for test in killers if test in set(tests)]
    return [*first, *(test for test in tests if test not in set(first))]


class Killers:
    """The latest killers of each function."""

    def __init__(self) -> None:
        self._known: dict[tuple[str, str], list[str]] = {}

    def of(self, mutant: Mutant) -> list[str]:
        return self._known.setdefault((mutant.module, mutant.where), [])

    def learn(self, outcome: Outcome) -> None:
        known = self.of(outcome.job.mutant)
        if outcome.killer:
            known[:] = [outcome.killer, *(one for one in known if one != outcome.killer)][:_RECENT]


class _Swapping:
    """A pytest plugin that runs mutants in the place of the tests themselves."""

    def __init__(self, jobs: Sequence[Job], done: Callable[[Outcome], None]) -> None:
        self.jobs, self.done = jobs, done

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        items = {item.nodeid: item for item in session.items}
        for module in {job.mutant.module for job in self.jobs}:
            importlib.import_module(f"{PACKAGE}.{module}")  # some are imported at their first use only
        functions, killers = _functions(), Killers()
        gc.collect()
        gc.freeze()
        for module, jobs in groupby(self.jobs, key=lambda job: job.mutant.module):
            tree, made = mutants_of(module, source_of(module))
            for job in jobs:
                mutant, edit = made[job.place]
                assert mutant == job.mutant, "the source changed under the campaign"
                undo = edit.apply()
                order = ordered(job.tests, killers.of(mutant))
                outcome = _outcome(job, partial(_swapped, job, tree, functions, items, order))
                undo()
                killers.learn(outcome)
                self.done(outcome)
        return True


_Functions = dict[tuple[str, str, int], list[FunctionType]]


def _functions() -> _Functions:
    """Living functions of compute by module, qualified name and first line."""
    found: _Functions = {}
    folder = str(COMPUTE)
    for one in gc.get_objects():
        if isinstance(one, FunctionType) and one.__code__.co_filename.startswith(folder):
            code = one.__code__
            name = (code.co_filename, code.co_qualname, code.co_firstlineno)
            found.setdefault(name, []).append(one)
    return found


def _codes(code: CodeType) -> Iterator[CodeType]:
    yield code
    for constant in code.co_consts:
        if isinstance(constant, CodeType):
            yield from _codes(constant)


def _swapped(
    job: Job, tree: ast.Module, functions: _Functions, items: Mapping[str, pytest.Item], order: Sequence[str]
) -> int:
    _quiet()
    home, path = job.mutant.home, str(path_of(job.mutant.module))
    assert home is not None
    whole = compiled(tree, job.mutant.module)
    (code,) = [one for one in _codes(whole) if (one.co_qualname, one.co_firstlineno) == home]
    _swap(code, functions[(path, *home)])
    inner = Counter((one.co_qualname, one.co_firstlineno) for one in _codes(code))
    for one in _codes(code):  # what it made when it was called before, at import for instance
        name = (one.co_qualname, one.co_firstlineno)
        if one is not code and inner[name] == 1 and not _swap(one, functions.get((path, *name), ())):
            return _NOT_SWAPPED
    return _run_in_order(job, items, order)


def _swap(code: CodeType, alive: Sequence[FunctionType]) -> bool:
    """Whether all of them have the code now: one that was made with other names around it cannot take it."""
    fitting = [function for function in alive if function.__code__.co_freevars == code.co_freevars]
    for function in fitting:
        function.__code__ = code
    return len(fitting) == len(alive)


class _Picked:
    """A pytest plugin that runs some tests of a job."""

    def __init__(self, job: Job, tests: Sequence[str]) -> None:
        self.job, self.tests, self.code = job, tests, 0

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        items = {item.nodeid: item for item in session.items}
        lost = [test for test in self.tests if test not in items]  # a table of cases came out otherwise
        self.code = 1 if lost else _run_in_order(self.job, items, self.tests)
        return True


def line_of(outcome: Outcome) -> dict[str, object]:
    """The outcome as a line of results."""
    mutant = outcome.job.mutant
    return {
        "module": mutant.module,
        "where": mutant.where,
        "line": mutant.line,
        "context": mutant.context,
        "change": mutant.change,
        "nth": mutant.nth,
        "verdict": outcome.verdict,
        "killer": outcome.killer,
        "tests": len(outcome.job.tests) + len(outcome.job.anew),
    }
