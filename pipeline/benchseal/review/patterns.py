"""Failed checks that coincide with results outside limits, or come again and again: seen as a whole, never one by one.

A check that fails voids what it brackets, whatever was read there; that rule is set beforehand and stands. Whether
it happens to void what nobody wanted is a question about many runs (21 CFR 211.192; the counts that make a pattern
are common practice, no source).
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from benchseal.problems import Finding

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

TIMES_A_SAMPLE: Final = 2
RUNS_AN_INSTRUMENT: Final = 3


@dataclass(frozen=True, slots=True)
class Voided:
    """A result without a value. would_be: what its readings came to, or empty; outside: whether beyond the limit.

    after: run and text of a later result of the same line that has a value, or empty; after_outside: of that one.
    """

    run: str
    lot: str
    line: str
    why: str
    would_be: str
    outside: bool
    after: str
    after_text: str
    after_outside: bool


@dataclass(frozen=True, slots=True)
class Failed:
    """A check that failed in a run on an instrument."""

    run: str
    instrument: str
    rule: str


def patterns(voided: Sequence[Voided], failed: Iterable[Failed]) -> tuple[Finding, ...]:
    """Every pattern, those of samples first."""
    return (*_exceedances(voided), *_samples(voided), *_instruments(failed))


def _exceedances(voided: Sequence[Voided]) -> Iterator[Finding]:
    """A reading beyond the limit that a failed check voided, and whose repeat has a value."""
    for one in voided:
        if not one.outside:
            continue
        then = f"; {one.after} gives {one.after_text}" if one.after else "; it was not read again"
        within = ", within the limit" if one.after and not one.after_outside else ""
        what = f"{one.run} read about {one.would_be}, outside the limit, and was voided ({one.why}){then}{within}."
        remedy = "Look at both before anything of the lot is approved. The voided reading is not a result."
        yield Finding("pattern.voided-exceedance", f"lot {one.lot}, {one.line}", what, remedy)


def _samples(voided: Sequence[Voided]) -> Iterator[Finding]:
    by_line: dict[tuple[str, str], dict[str, None]] = defaultdict(dict)
    for one in voided:
        by_line[one.lot, one.line][one.run] = None
    for (lot, line), runs in by_line.items():
        if len(runs) >= TIMES_A_SAMPLE:
            what = f"{len(runs)} runs gave it no value: {', '.join(runs)}."
            remedy = "Look for what they have in common before it is read once more."
            yield Finding("pattern.sample-again", f"lot {lot}, {line}", what, remedy)


def _instruments(failed: Iterable[Failed]) -> Iterator[Finding]:
    by_check: dict[tuple[str, str], dict[str, None]] = defaultdict(dict)
    for one in failed:
        by_check[one.instrument, one.rule][one.run] = None
    for (instrument, rule), runs in by_check.items():
        if len(runs) >= RUNS_AN_INSTRUMENT:
            what = f"{rule} failed in {len(runs)} runs: {', '.join(runs)}."
            remedy = "Have the instrument and the standard looked at; see `benchseal history check`."
            yield Finding("pattern.instrument-again", instrument, what, remedy)
