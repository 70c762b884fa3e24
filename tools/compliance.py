"""Makes the table of clauses in the manual: what each asks, what benchseal does, which tests show it.

    .venv/bin/python tools/compliance.py                      writes docs/manual/compliance.md
    .venv/bin/python tools/compliance.py --check              exit code 1 where it is not what the marks give
    .venv/bin/python tools/compliance.py --junit RUN.xml --output FILE
                                                              the same with the results of one run of the tests
                                                              (scripts/test --junitxml=RUN.xml)

Clauses stand in tools/compliance.toml. A test names those it shows with ``@pytest.mark.clause("P11 11.10(e)")``, and
those it tries to break with ``@pytest.mark.refuses("P11 11.10(g)")``; marks are read from the source, where they must
be plain text. Standard library only.
"""

from __future__ import annotations

import argparse
import ast
import sys
import tomllib
import xml.etree.ElementTree as ET
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

ROOT = Path(__file__).parents[1]
CLAUSES = ROOT / "tools" / "compliance.toml"
TABLE = ROOT / "docs" / "manual" / "compliance.md"
MARKS = ("clause", "refuses")
SURE = ("", "second hand", "from memory")
ATTACKS = {"": 1, "high": 2}  # how many tests that try to break it a clause needs, by its risk

HEAD = """# Clauses and the tests behind them

Made by `tools/compliance.py` from `tools/compliance.toml` and the marks of the tests; not written by hand.

What each clause asks is told in our own words; the clause itself is what counts. *Second hand*: known from somebody
else's account of the document. *From memory*: not confirmed; look at the document before quoting it.

*shown* is the number of tests that show the behaviour, *attacked* the number that try to break it; one such test may
stand for many cases. **held**: there is at least one of each. **open**: one of the two is missing; what is told there
is what is meant, not what is shown. *High* risk: if it did not hold, a wrong result, a false signature or a lost record
could go unnoticed; such a clause is held only with two different attacks at least. The tests are part of
`scripts/test`, which ends with exit code 0 only if every one of them passes. Whether a laboratory meets a clause also
depends on what it does itself: procedures, training, and validation for its own use.
"""

COLUMNS = ("| clause | risk | asks | benchseal | shown | attacked | stands |", "|---|---|---|---|---|---|---|")


class Mark(NamedTuple):
    """One clause on one test. path: from the project's folder, with slashes."""

    clause: str
    kind: str
    path: str
    test: str


class Document(NamedTuple):
    """A document whose clauses are listed."""

    key: str
    name: str


@dataclass(frozen=True, slots=True)
class Clause:
    """One clause: what it asks, what is done, how sure its text is, other names tests may give it, its risk."""

    id: str
    asks: str
    does: str
    sure: str = ""
    also: tuple[str, ...] = ()
    risk: str = ""

    @property
    def document(self) -> str:
        """Key of the document it stands in."""
        return self.id.split(" ", maxsplit=1)[0].split(".")[0]


@dataclass(slots=True)
class Result:
    """How the cases of one test ended in a run."""

    passed: int = 0
    failed: int = 0
    skipped: int = 0


@dataclass(frozen=True, slots=True)
class Shown:
    """A clause with the tests that name it."""

    clause: Clause
    positive: list[Mark] = field(default_factory=list)
    negative: list[Mark] = field(default_factory=list)

    @property
    def is_held(self) -> bool:
        """Shown, and tried to break as often as its risk asks."""
        return bool(self.positive) and len(self.negative) >= ATTACKS[self.clause.risk]


def read_clauses(path: Path = CLAUSES) -> tuple[tuple[Document, ...], tuple[Clause, ...]]:
    """Documents and clauses of the file. Raises ValueError on one it should not hold."""
    read = tomllib.loads(path.read_text(encoding="utf-8"))
    documents = tuple(Document(each["key"], each["name"]) for each in read["document"])
    clauses = tuple(
        Clause(
            each["id"],
            each["asks"],
            each["does"],
            each.get("sure", ""),
            tuple(each.get("also", ())),
            each.get("risk", ""),
        )
        for each in read["clause"]
    )
    names = [name for each in clauses for name in (each.id, *each.also)]
    if len(names) != len(set(names)):
        raise ValueError(f"named twice: {sorted({name for name in names if names.count(name) > 1})}")
    for each in clauses:
        if each.document not in {document.key for document in documents} or each.sure not in SURE:
            raise ValueError(f"{each.id}: no such document, or sure is {each.sure!r}")
        if each.risk not in ATTACKS:
            raise ValueError(f"{each.id}: risk is {each.risk!r}")
    return documents, clauses


def marks_in(folder: Path = ROOT / "tests") -> Iterator[Mark]:
    """Every mark of a clause in the tests, read from their source. Raises ValueError on one that is not plain text."""
    for path in sorted(folder.rglob("test_*.py")):
        text = path.read_text(encoding="utf-8")
        if "mark.clause" in text or "mark.refuses" in text:
            yield from _marks(ast.parse(text), path.relative_to(folder.parent).as_posix())


def _marks(tree: ast.Module, path: str) -> Iterator[Mark]:
    found: set[int] = set()
    whole = [
        call for node in tree.body if isinstance(node, ast.Assign) and _is_pytestmark(node) for call in _calls(node)
    ]
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
            own = [call for decorator in node.decorator_list for call in _calls(decorator)]
            found |= {id(call) for call in (*own, *whole)}
            for call in (*own, *whole):
                yield from (Mark(clause, _kind(call), path, node.name) for clause in _texts(call, path))
    stray = [call.lineno for call in _calls(tree) if id(call) not in found]
    if stray:
        raise ValueError(f"{path}: the mark in line {stray[0]} is on no test function")


def _is_pytestmark(node: ast.Assign) -> bool:
    return any(isinstance(target, ast.Name) and target.id == "pytestmark" for target in node.targets)


def _calls(node: ast.AST) -> list[ast.Call]:
    """Calls of ``….mark.clause(…)`` and ``….mark.refuses(…)`` anywhere in ``node``."""
    return [each for each in ast.walk(node) if isinstance(each, ast.Call) and _kind(each)]


def _kind(call: ast.Call) -> str:
    match call.func:
        case ast.Attribute(attr=name, value=ast.Attribute(attr="mark")) if name in MARKS:
            return name
        case _:
            return ""


def _texts(call: ast.Call, path: str) -> list[str]:
    texts = [each.value for each in call.args if isinstance(each, ast.Constant) and isinstance(each.value, str)]
    if not texts or len(texts) != len(call.args):
        raise ValueError(f"{path}: the mark in line {call.lineno} does not name its clauses as plain text")
    return texts


def gathered(clauses: Iterable[Clause], marks: Iterable[Mark]) -> tuple[Shown, ...]:
    """Each clause with its tests, in the order of the file. Raises ValueError where a mark names no known clause."""
    shown = {each.id: Shown(each) for each in clauses}
    names = {name: each.clause.id for each in shown.values() for name in (each.clause.id, *each.clause.also)}
    for mark in marks:
        if mark.clause not in names:
            raise ValueError(f"{mark.path}::{mark.test}: {mark.clause!r} is no clause of {CLAUSES.name}")
        of = shown[names[mark.clause]]
        listed = of.positive if mark.kind == "clause" else of.negative
        if (mark.path, mark.test) not in {(each.path, each.test) for each in listed}:
            listed.append(mark)
    return tuple(shown.values())


def read_results(path: Path) -> dict[tuple[str, str], Result]:
    """Results by file and test from a JUnit XML file as pytest writes it."""
    results: dict[tuple[str, str], Result] = {}
    for case in ET.parse(path).getroot().iter("testcase"):  # noqa: S314  a file our own test run wrote
        place = case.get("classname", "").replace(".", "/") + ".py"
        result = results.setdefault((place, case.get("name", "").partition("[")[0]), Result())
        ended = {child.tag for child in case}
        if ended & {"failure", "error"}:
            result.failed += 1
        elif "skipped" in ended:
            result.skipped += 1
        else:
            result.passed += 1
    return results


def said(shown: Shown, results: dict[tuple[str, str], Result] | None) -> str:
    """How a clause stands: by its marks alone, or by the results of one run, where only what passed counts."""
    if results is None:
        return "held" if shown.is_held else "**open**"
    kinds = [
        [results.get((mark.path, mark.test), Result()) for mark in side] for side in (shown.positive, shown.negative)
    ]
    every = [result for side in kinds for result in side]
    passed, failed, skipped = (sum(getattr(each, name) for each in every) for name in ("passed", "failed", "skipped"))
    needed = (1, ATTACKS[shown.clause.risk])
    ran = [sum(bool(each.passed) for each in side) for side in kinds]
    held = all(count >= least for count, least in zip(ran, needed, strict=True)) and not failed
    words = ", ".join(f"{n} {word}" for n, word in ((passed, "passed"), (failed, "failed"), (skipped, "skipped")) if n)
    return f"{'held' if held else '**open**'} ({words or 'none ran'})"


def table(
    documents: Iterable[Document], every: tuple[Shown, ...], results: dict[tuple[str, str], Result] | None = None
) -> str:
    """The page of the manual."""
    held = sum(said(each, results).startswith("held") for each in every)
    left = len(every) - held
    parts = [HEAD, f"{held} of {len(every)} clauses are held, {left} {'is' if left == 1 else 'are'} open.\n"]
    for document in documents:
        own = [each for each in every if each.clause.document == document.key]
        rows = [_row(each, results) for each in own]
        parts.append("\n".join([f"## {document.name}\n", *COLUMNS, *rows, ""]))
    parts.append("## The tests of each clause\n")
    parts += [_listed(each) for each in every if each.positive or each.negative]
    return "\n".join(parts)


def _row(each: Shown, results: dict[tuple[str, str], Result] | None) -> str:
    stands = said(each, results)
    sure = f" *({each.clause.sure})*" if each.clause.sure else ""
    does = each.clause.does if stands.startswith("held") else f"meant: {each.clause.does}"
    counts = f"{len(each.positive)} | {len(each.negative)}"
    return f"| {each.clause.id} | {each.clause.risk} | {each.clause.asks}{sure} | {does} | {counts} | {stands} |"


def _listed(each: Shown) -> str:
    lines = [f"**{each.clause.id}**\n"]
    for word, marks in (("shown", each.positive), ("attacked", each.negative)):
        files: dict[str, list[str]] = {}
        for mark in sorted(marks, key=lambda mark: (mark.path, mark.test)):
            files.setdefault(mark.path.removeprefix("tests/"), []).append(f"`{mark.test.removeprefix('test_')}`")
        lines += [f"- {word} in {path}: {', '.join(tests)}" for path, tests in files.items()]
    return "\n".join([*lines, ""])


def main() -> int:
    """Write or check the table."""
    parser = argparse.ArgumentParser(
        description="Makes the table of clauses in the manual from the marks of the tests."
    )
    parser.add_argument("--check", action="store_true", help="only say whether the table is what the marks give")
    parser.add_argument("--junit", type=Path, metavar="RUN.xml", help="results of a run of the tests")
    parser.add_argument("--output", type=Path, default=TABLE, metavar="FILE", help="where the table goes")
    given = parser.parse_args()
    if given.junit and given.output == TABLE:
        parser.error("--junit needs --output: the table of the manual holds no results of single runs")
    documents, clauses = read_clauses()
    every = gathered(clauses, marks_in())
    page = table(documents, every, read_results(given.junit) if given.junit else None)
    if given.check:
        same = given.output.is_file() and given.output.read_text(encoding="utf-8") == page
        print("The table is what the marks give." if same else "The table is not what the marks give: make it again.")
        return 0 if same else 1
    given.output.write_text(page, encoding="utf-8")
    print(f"{given.output}: {sum(each.is_held for each in every)} of {len(every)} clauses have tests of both kinds.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
