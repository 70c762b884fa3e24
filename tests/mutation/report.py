"""What a campaign found: the mutants listed as equivalent, the share killed by module, the survivors in words."""

from __future__ import annotations

import tomllib
from collections import Counter
from typing import TYPE_CHECKING

from scipy.stats import binomtest

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

Key = tuple[str, str, str, str, int]

DEAD, EQUIVALENT = ("killed", "hanged"), "equivalent"


def equivalents(path: Path) -> dict[Key, str]:
    """Listed mutants and why no test can tell them from the program."""
    listed = tomllib.loads(path.read_text(encoding="utf-8")).get("mutant", [])
    return {
        (one["module"], one["where"], one["context"], one["change"], one.get("nth", 1)): one["reason"] for one in listed
    }


def gone(listed: Iterable[Key], there: Iterable[Key]) -> list[Key]:
    """Listed mutants that do not exist any more."""
    known = set(there)
    return [key for key in listed if key not in known]


def share(lines: Iterable[Mapping[str, object]]) -> tuple[int, int]:
    """Killed and all, those listed as equivalent left out."""
    verdicts = Counter(line["verdict"] for line in lines)
    killed = sum(verdicts[name] for name in DEAD)
    return killed, sum(verdicts.values()) - verdicts["equivalent"]


def interval_percent(killed: int, counted: int) -> tuple[float, float]:
    """95 % interval of the share killed, in percent, from a sample (binomial, exact: Clopper and Pearson)."""
    found = binomtest(killed, counted).proportion_ci(0.95, method="exact")
    return 100.0 * found.low, 100.0 * found.high


def key_of(line: Mapping[str, object]) -> Key:
    """The name of a mutant in a line of results."""
    return (str(line["module"]), str(line["where"]), str(line["context"]), str(line["change"]), int(str(line["nth"])))


def report(lines: Sequence[Mapping[str, object]], scope: str) -> str:
    """The report as text: scope, a table by module, survivors with line and change."""
    modules = sorted({str(line["module"]) for line in lines})
    rows = [_row(module, [line for line in lines if line["module"] == module]) for module in modules]
    left = sorted((line for line in lines if line["verdict"] not in (*DEAD, "equivalent")), key=_place)
    return "\n".join(
        [
            f"Mutants of compute: {scope}.",
            "",
            "| module | mutants | killed by a test | by the time limit | listed as equivalent | survived | killed % |",
            "|---|---|---|---|---|---|---|",
            *rows,
            _row("all", lines),
            "",
            *_interval(lines),
            *(_survivor(line) for line in left),
            "",
        ]
    )


def _interval(lines: Sequence[Mapping[str, object]]) -> list[str]:
    killed, counted = share(lines)
    if not counted:
        return []
    low, high = interval_percent(killed, counted)
    return [f"{killed} of {counted} killed; if drawn by chance, 95 % interval {low:.1f} to {high:.1f} %.", ""]


def _place(line: Mapping[str, object]) -> tuple[str, int]:
    return str(line["module"]), int(str(line["line"]))


def _row(name: str, lines: Sequence[Mapping[str, object]]) -> str:
    verdicts = Counter(line["verdict"] for line in lines)
    killed, counted = share(lines)
    cells = (len(lines), verdicts["killed"], verdicts["hanged"], verdicts["equivalent"], counted - killed)
    return f"| {name} | {' | '.join(map(str, cells))} | {100 * killed / counted if counted else 100:.1f} |"


def _survivor(line: Mapping[str, object]) -> str:
    tests = f"{line['tests']} tests" if line["tests"] else "no test runs it"
    again = f" (no. {line['nth']})" if line["nth"] != 1 else ""
    return f"{line['module']}:{line['line']} {line['where']}: {line['change']}{again}; {tests}; in: {line['context']}"
