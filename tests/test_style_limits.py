"""Sizes: no module over 400 lines; nine functions of ten under 30 code lines, the median under 10.

Code lines of a function: its lines from ``def`` on without docstring, blank lines and lines that are only a comment.
"""

from __future__ import annotations

import ast
from pathlib import Path
from statistics import median

import pytest

PACKAGE = Path(__file__).parents[1] / "pipeline" / "benchseal"
MODULES = sorted(PACKAGE.rglob("*.py"))

MODULE_LINES = 400
LONG_FUNCTION = 30
LONG_SHARE = 0.10
MEDIAN = 10


def function_sizes(source: str) -> dict[str, int]:
    """Code lines of each function of ``source``, keyed by name and line."""
    lines = source.splitlines()
    return {
        f"{node.name} (line {node.lineno})": _code_lines(node, lines)
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    }


def _code_lines(node: ast.FunctionDef | ast.AsyncFunctionDef, lines: list[str]) -> int:
    numbers = set(range(node.lineno, (node.end_lineno or node.lineno) + 1))
    first = node.body[0]
    if ast.get_docstring(node, clean=False) is not None:
        numbers -= set(range(first.lineno, (first.end_lineno or first.lineno) + 1))
    texts = (lines[number - 1].strip() for number in numbers)
    return sum(1 for text in texts if text and not text.startswith("#"))


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_no_module_is_too_long(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= MODULE_LINES


def test_functions_are_short() -> None:
    sizes = {
        f"{path.relative_to(PACKAGE)}: {name}": size
        for path in MODULES
        for name, size in function_sizes(path.read_text(encoding="utf-8")).items()
    }
    assert len(sizes) > 20, "functions were not found"
    longest = sorted((size, name) for name, size in sizes.items() if size >= LONG_FUNCTION)
    assert len(longest) <= LONG_SHARE * len(sizes), longest
    assert median(sizes.values()) < MEDIAN


@pytest.mark.parametrize(
    ("source", "size"),
    [
        pytest.param("def f():\n    return 1\n", 2, id="two lines"),
        pytest.param('def f():\n    """Says.\n\n    More.\n    """\n    return 1\n', 2, id="docstring"),
        pytest.param("def f():\n    # why\n\n    return 1\n", 2, id="comment and blank line"),
        pytest.param("@cache\ndef f(\n    a,\n):\n    return (\n        a\n    )\n", 6, id="spread over lines"),
        pytest.param("async def f():\n    return 1\n", 2, id="async"),
        pytest.param("class A:\n    def f(self):\n        return 1\n", 2, id="method"),
    ],
)
def test_code_lines_are_counted(source: str, size: int) -> None:
    assert list(function_sizes(source).values()) == [size]
