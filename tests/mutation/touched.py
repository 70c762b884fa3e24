"""Which test runs which line of ``compute``: collected once, kept as JSON, renewed by file."""

from __future__ import annotations

import ast
import hashlib
import importlib.abc
import importlib.util
import json
import sys
import time
from dataclasses import asdict, dataclass, field
from itertools import takewhile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable, Generator
    from importlib.machinery import ModuleSpec
    from types import CodeType, ModuleType

ROOT = Path(__file__).parents[2]
COMPUTE = ROOT / "pipeline" / "benchseal" / "compute"
TESTS = ("tests/compute", "tests/published")

PACKAGE = "benchseal.compute"

Lines = dict[str, list[int]]


def path_of(module: str) -> Path:
    return COMPUTE / f"{module}.py"


def source_of(module: str) -> str:
    return path_of(module).read_text(encoding="utf-8")


def compiled(tree: ast.Module, module: str) -> CodeType:
    """Code of a changed module, with its annotations left as text."""
    code: CodeType = compile(tree, str(path_of(module)), "exec", flags=annotations.compiler_flag, dont_inherit=True)
    return code


@dataclass
class Touched:
    """seconds, lines: by node id; at_import: lines that run before any test, by test file, each imported alone.

    program: digest of everything but the test files; files: digest of each test file. seconds: of processor time.
    """

    program: str = ""
    files: dict[str, str] = field(default_factory=dict)
    seconds: dict[str, float] = field(default_factory=dict)
    lines: dict[str, Lines] = field(default_factory=dict)
    at_import: dict[str, Lines] = field(default_factory=dict)
    failed: list[str] = field(default_factory=list)

    def save(self, path: Path) -> None:
        path.write_text(json.dumps(asdict(self)), encoding="utf-8")

    def add(self, part: Touched) -> None:
        """Take over what one file gave."""
        self.seconds.update(part.seconds)
        self.lines.update(part.lines)
        self.at_import.update(part.at_import)
        self.failed.extend(part.failed)

    def keep(self, now: Touched) -> list[str]:
        """Drop what is no longer true against the digests of ``now``; the test files that must run again."""
        same = self.program == now.program
        stale = [name for name in now.files if not same or self.files.get(name) != now.files[name]]
        live = set(now.files) - set(stale)
        for known in (self.seconds, self.lines):
            for test in [test for test in known if file_of(test) not in live]:
                del known[test]
        self.at_import = {name: lines for name, lines in self.at_import.items() if name in live}
        self.failed = [test for test in self.failed if file_of(test) in live]
        self.program, self.files = now.program, now.files
        return stale


class Index:
    """What ``Touched`` knows, turned round for quick answers."""

    def __init__(self, touched: Touched) -> None:
        self.seconds = touched.seconds
        self._by_line: dict[tuple[str, int], set[str]] = {}
        self._by_module: dict[str, set[str]] = {}
        self._imported: dict[tuple[str, int], set[str]] = {}
        self._slowest: dict[str, float] = {}
        tests: dict[str, list[str]] = {}
        for test, lines in touched.lines.items():
            file = file_of(test)
            tests.setdefault(file, []).append(test)
            self._slowest[file] = max(self._slowest.get(file, 0.0), touched.seconds[test])
            for module, numbers in lines.items():
                self._by_module.setdefault(module, set()).add(test)
                for number in numbers:
                    self._by_line.setdefault((module, number), set()).add(test)
        for file, imported in touched.at_import.items():
            for module, numbers in imported.items():
                for number in numbers:
                    self._imported.setdefault((module, number), set()).update(tests.get(file, ()))

    def tests_of(self, module: str, line: int, *, whole: bool) -> tuple[list[str], set[str]]:
        """Tests that ran the statement at this line, or any of the module when ``whole``; the likeliest first.

        Likeliest are those of the file whose name begins as the module's does, the quickest of them first. The second
        are those among them whose file runs it when imported: their cases may come from it.
        """
        imported = self._imported.get((module, line), set())
        hit = imported | (self._by_module.get(module, set()) if whole else self._by_line.get((module, line), set()))
        order = sorted(hit, key=lambda test: (-_words_alike(file_of(test), module), self.seconds[test], test))
        return order, hit if whole else imported

    def slowest(self, test: str) -> float:
        """Seconds of the slowest test of its file: whichever test comes first pays for what all share."""
        return self._slowest[file_of(test)]


def _words_alike(file: str, module: str) -> int:
    """How many words the name of a test file begins with that the module's name begins with too."""
    words = zip(Path(file).stem.removeprefix("test_").split("_"), module.split("_"), strict=False)
    return len(list(takewhile(lambda pair: pair[0] == pair[1], words)))


def file_of(test: str) -> str:
    """Path of the file of a node id."""
    return test.split("::", 1)[0]


def load(path: Path) -> Touched:
    return Touched(**json.loads(path.read_text(encoding="utf-8"))) if path.exists() else Touched()


def digests() -> Touched:
    """Digests of what is there now. Helpers of tests count as program: whatever they do, many tests do."""
    tests = sorted(path for room in TESTS for path in (ROOT / room).rglob("test_*.py"))
    helpers = {path for room in TESTS for path in (ROOT / room).rglob("*.py")} - set(tests)
    program = hashlib.sha256()
    for path in sorted({*(ROOT / "pipeline").rglob("*.py"), *helpers}):
        program.update(path.read_bytes())
    return Touched(program.hexdigest(), {_name(path): digest(path.read_bytes()) for path in tests})


def digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:16]


def _name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


class Collector:
    """A pytest plugin that fills ``touched``; tests that fail are named there.

    Each statement of compute is made to report itself: that costs far less than a trace function. A line is here the
    first line of a statement.
    """

    def __init__(self, touched: Touched, file: str) -> None:
        self.touched, self.file = touched, file
        self.hits: dict[str, set[int]] = {}
        sys.meta_path.insert(0, Changed(self._reporting))

    def _reporting(self, module: str) -> tuple[ast.Module, dict[str, object]]:
        tree = ast.parse(source_of(module))
        hits = self.hits.setdefault(module, set())
        for node in list(ast.walk(tree)):
            for name in ("body", "orelse", "finalbody"):
                block = getattr(node, name, None)
                if isinstance(block, list):
                    setattr(node, name, [each for one in block for each in _reported(one)])
        return ast.fix_missing_locations(tree), {_HIT: hits.add}

    def _taken(self) -> Lines:
        found = {module: sorted(lines) for module, lines in self.hits.items() if lines}
        for lines in self.hits.values():
            lines.clear()
        return found

    def pytest_collection_finish(self) -> None:
        self.touched.at_import[self.file] = self._taken()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, object, object]:
        self._taken()
        started = time.process_time()
        result = yield
        self.touched.seconds[item.nodeid] = round(time.process_time() - started, 4)
        self.touched.lines[item.nodeid] = self._taken()
        return result

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.touched.failed.append(report.nodeid)


_HIT = "__hit__"


def _reported(statement: ast.stmt) -> list[ast.stmt]:
    if isinstance(statement, ast.ImportFrom) and statement.module == "__future__":
        return [statement]
    if isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant):
        return [statement]  # a docstring stays the first
    call = ast.Call(ast.Name(_HIT, ast.Load()), [ast.Constant(statement.lineno)], [])
    return [ast.copy_location(ast.Expr(call), statement), statement]


class Changed(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives modules of compute from another tree, and leaves all others to Python.

    tree_of: module to its tree and to what stands in it before it runs; None for a module left as it is.
    """

    def __init__(self, tree_of: Callable[[str], tuple[ast.Module, dict[str, object]] | None]) -> None:
        self.tree_of = tree_of

    def find_spec(self, fullname: str, path: object, target: object = None) -> ModuleSpec | None:
        del path, target
        package, _, module = fullname.rpartition(".")
        if package != PACKAGE or self.tree_of(module) is None:
            return None
        return importlib.util.spec_from_file_location(fullname, path_of(module), loader=self)

    def exec_module(self, module: ModuleType) -> None:
        name = module.__name__.rpartition(".")[2]
        found = self.tree_of(name)
        assert found is not None
        module.__dict__.update(found[1])
        exec(compiled(found[0], name), module.__dict__)  # noqa: S102  that is what importing is
