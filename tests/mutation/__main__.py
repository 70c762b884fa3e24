"""Mutation testing of compute: ``python -m tests.mutation``. Exit code 1 when too many mutants survive.

Needs fork, so Linux. Everything it keeps lies in build/mutation: which test runs which line, and the results.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.mutation import report as reporting
from tests.mutation import touched as touching
from tests.mutation.operators import mutants_of
from tests.mutation.running import (
    NOT_SWAPPED,
    PROFILE,
    SURVIVED,
    Job,
    Killers,
    Outcome,
    in_child,
    line_of,
    pytest_main,
    run_imported,
    run_swapped,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from tests.mutation.operators import Mutant
    from tests.mutation.report import Key
    from tests.mutation.touched import Touched

    Mutants = dict[tuple[str, int], Mutant]

EXAMPLES = 25  # of each property test: fewer than usual, so a mutant may survive here that the tests would find
EQUIVALENT = Path(__file__).with_name("equivalent.toml")


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("--module", action="append", default=[], help="only this module of compute; may be repeated")
    parser.add_argument("--sample", type=int, default=0, help="so many mutants by chance, not all")
    parser.add_argument("--seed", type=int, default=1, help="of the sample")
    parser.add_argument("--resume", action="store_true", help="keep the mutants already killed by unchanged sources")
    parser.add_argument("--budget", type=float, default=120.0, help="seconds of tests for one mutant, as collected")
    parser.add_argument("--floor", type=float, default=90.0, help="least percentage killed")
    parser.add_argument("--out", type=Path, default=touching.ROOT / "build" / "mutation")
    parser.add_argument("--list", action="store_true", help="print the mutants and run none")
    return parser.parse_args()


def _say(*words: object, sep: str = " ") -> None:
    sys.stdout.write(f"{sep.join(map(str, words))}\n")
    sys.stdout.flush()


def main() -> int:
    """Run a campaign as the arguments say."""
    asked = arguments()
    if not hasattr(os, "fork"):
        _say("mutation testing needs fork, which this system does not have")
        return 2
    every = all_mutants()
    chosen = pick(every, asked.module, asked.sample, asked.seed)
    listed = reporting.equivalents(EQUIVALENT)
    lost = reporting.gone(listed, (mutant.key for mutant in every.values()))
    for key in lost:
        _say("listed as equivalent, but no longer there:", *key, sep="\n    ")
    if asked.list:
        _say(*(f"{mutant.module}:{mutant.line} {mutant.change}" for mutant in chosen.values()), sep="\n")
        return 1 if lost else 0
    return max(_campaign(asked, every, chosen, listed), 1 if lost else 0)


def _campaign(asked: argparse.Namespace, every: Mutants, chosen: Mutants, listed: Mapping[Key, str]) -> int:
    asked.out.mkdir(parents=True, exist_ok=True)
    sys.dont_write_bytecode = True
    sys.path[:0] = [str(touching.ROOT / "pipeline"), str(touching.ROOT)]
    _import_the_heavy()
    touched = _touched(asked.out / "touched.json")
    if touched.failed:
        _say("these tests fail without any mutant:", *touched.failed, sep="\n    ")
        return 1
    results = Results(asked.out / "results.jsonl", touched, asked.budget)
    results.start(keep=asked.resume)
    waiting = {place: mutant for place, mutant in chosen.items() if mutant.key not in results.lines}
    for mutant in [mutant for mutant in waiting.values() if mutant.key in listed]:
        results.add(Outcome(Job(mutant, 0, (), (), {}), reporting.EQUIVALENT, ""))
    index = touching.Index(touched)
    jobs = [_job(place, mutant, index, asked.budget) for place, mutant in waiting.items() if mutant.key not in listed]
    _run(jobs, results)
    lines = [results.lines[mutant.key] for mutant in chosen.values()]
    drawn = f"drawn with seed {asked.seed} from " if asked.sample else "of "
    text = reporting.report(lines, f"{len(chosen)} {drawn}{len(every)}; at most {asked.budget:g} s of tests each")
    (asked.out / "report.md").write_text(text, encoding="utf-8")
    _say(text)
    killed, counted = reporting.share(lines)
    return 1 if 100.0 * killed < asked.floor * counted else 0


def all_mutants() -> Mutants:
    """Every mutant of every module of compute, by module and place."""
    found: Mutants = {}
    for path in sorted(touching.COMPUTE.glob("*.py")):
        made = mutants_of(path.stem, path.read_text(encoding="utf-8"))[1]
        found.update({(path.stem, place): mutant for place, (mutant, _) in enumerate(made)})
    return found


def pick(every: Mutants, modules: Sequence[str], sample: int, seed: int) -> Mutants:
    """The mutants of these modules, or of all; so many of them by chance where a sample is asked."""
    chosen = [place for place in every if not modules or place[0] in modules]
    if 0 < sample < len(chosen):
        chosen = sorted(random.Random(seed).sample(chosen, sample))  # noqa: S311  a sample, no secret
    return {place: every[place] for place in chosen}


def _import_the_heavy() -> None:
    """What every child needs, imported once; nothing of the program. Examples are the same for all mutants."""
    import hypothesis  # noqa: PLC0415
    import jsonschema  # noqa: F401, PLC0415
    import numpy  # noqa: F401, ICN001, PLC0415
    import scipy.stats  # noqa: F401, PLC0415

    usual = hypothesis.settings.__init__

    def few(self: hypothesis.settings, *given: Any, **named: Any) -> None:  # noqa: ANN401  whatever settings take
        if isinstance(named.get("max_examples"), int):
            named["max_examples"] = min(named["max_examples"], EXAMPLES)
        usual(self, *given, **named)

    setattr(hypothesis.settings, "__init__", few)  # noqa: B010  tests that ask for more get no more either
    hypothesis.settings.register_profile(
        PROFILE,
        derandomize=True,
        database=None,
        deadline=None,
        max_examples=EXAMPLES,
        phases=(hypothesis.Phase.explicit, hypothesis.Phase.generate),
        suppress_health_check=list(hypothesis.HealthCheck),
    )


def _touched(path: Path) -> Touched:
    """Which test runs which line: what is known and still true, and the rest by running tests."""
    touched = touching.load(path)
    stale = touched.keep(touching.digests())
    if stale:
        _say(f"collecting lines: {len(stale)} test files")
    for file in stale:
        if in_child(lambda file=file: _lines_of(file, path.with_name("part.json"))):  # type: ignore[misc]
            raise SystemExit(f"{file} could not be run")
        touched.add(touching.load(path.with_name("part.json")))
        touched.save(path)
    return touched


def _lines_of(file: str, path: Path) -> int:
    part = touching.Touched()
    code = pytest_main([file], touching.Collector(part, file))
    part.save(path)
    return 0 if code in (0, 1) else 3


def _job(place: tuple[str, int], mutant: Mutant, index: touching.Index, budget: float) -> Job:
    tests, imported = index.tests_of(mutant.module, mutant.statement, whole=mutant.home is None)
    spent, fitting = 0.0, 0
    for test in tests:
        spent += index.seconds[test]
        fitting += spent <= budget
    tests = tests[: max(fitting, 1)]
    living = tuple(test for test in tests if test not in imported)
    anew = tuple(test for test in tests if test in imported)
    return Job(mutant, place[1], living, anew, {test: index.slowest(test) for test in tests})


def _run(jobs: Sequence[Job], results: Results) -> None:
    for job in jobs:
        if not (job.tests or job.anew):
            results.add(Outcome(job, SURVIVED, ""))

    def settled(outcome: Outcome) -> None:
        if outcome.verdict != SURVIVED or not outcome.job.anew:
            results.add(outcome)

    living = [job for job in jobs if job.tests]
    if living and run_swapped(living, settled):
        raise SystemExit("the campaign was cut off; run it again with --resume")
    results.read()
    killers = Killers()
    for job in jobs:
        verdict = results.lines.get(job.mutant.key, {}).get("verdict", "")
        if verdict in ("", NOT_SWAPPED):
            whole = replace(job, tests=(), anew=(*job.tests, *job.anew)) if verdict else job
            outcome = run_imported(whole, killers.of(job.mutant))
            killers.learn(outcome)
            results.add(outcome)


class Results:
    """The outcomes so far, in a file that grows by one line for each."""

    def __init__(self, path: Path, touched: Touched, budget: float) -> None:
        self.path, self.budget = path, budget
        self.lines: dict[Key, dict[str, object]] = {}
        self.sources = {one.stem: touching.digest(one.read_bytes()) for one in touching.COMPUTE.glob("*.py")}
        self.tests = touching.digest(json.dumps([touched.program, touched.files]).encode())

    def start(self, *, keep: bool) -> None:
        """Keep what still holds: killed with the same source, or survived as many of the same tests too."""
        if keep and self.path.exists():
            self.read()
        held = [line for line in self.lines.values() if self._holds(line)]
        self.path.write_text("".join(f"{json.dumps(line, ensure_ascii=False)}\n" for line in held), encoding="utf-8")
        self.lines = {}
        self.read()

    def _holds(self, line: Mapping[str, object]) -> bool:
        if line["source"] != self.sources.get(str(line["module"])):
            return False
        if line["verdict"] != SURVIVED:
            return line["verdict"] in reporting.DEAD
        return line["state"] == self.tests and float(str(line["budget"])) >= self.budget

    def read(self) -> None:
        for text in self.path.read_text(encoding="utf-8").splitlines():
            line = json.loads(text)
            self.lines[reporting.key_of(line)] = line

    def add(self, outcome: Outcome) -> None:
        mutant = outcome.job.mutant
        line = {**line_of(outcome), "source": self.sources[mutant.module], "state": self.tests, "budget": self.budget}
        self.lines[mutant.key] = line
        with self.path.open("a", encoding="utf-8") as file:
            file.write(f"{json.dumps(line, ensure_ascii=False)}\n")


if __name__ == "__main__":
    sys.exit(main())
