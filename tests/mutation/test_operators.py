"""The mutants themselves: which changes are made, and what is left alone."""

from __future__ import annotations

import ast

import pytest
from tests.mutation.operators import mutants_of


def changes(source: str) -> set[str]:
    return {mutant.change for mutant, _ in mutants_of("m", source)[1]}


@pytest.mark.parametrize(
    ("source", "change"),
    [
        ("a < b", "a < b -> a <= b"),
        ("a == b", "a == b -> a != b"),
        ("a in b", "a in b -> a not in b"),
        ("a + b", "a + b -> a - b"),
        ("a / b", "a / b -> a * b"),
        ("a ** b", "a ** b -> a * b"),
        ("a and b", "a and b -> a or b"),
        ("not a", "not a -> a"),
        ("-a", "-a -> a"),
        ("f(0)", "0 -> 1"),
        ("f(2.5)", "2.5 -> 3.5"),
        ("f(True)", "True -> False"),
        ("f('100')", "'100' -> '101'"),
        ("f('too_few')", "'too_few' -> 'too_few~'"),
        ("f('')", "'' -> '~'"),
        ("f(min(a, b))", "min(a, b) -> max(a, b)"),
        ("np.any(a)", "np.any -> np.all"),
        ("sorted(a, key=k)", "sorted(a, key=k) -> list(a)"),
        ("x = abs(a)", "abs(a) -> a"),
        ("a[1:]", "1: -> :"),
        ("a[:k]", ":k -> :"),
        ("f(a)", "f(a) -> pass"),
        ("a[0] = b", "a[0] = b -> pass"),
        ("a += b", "a += b -> a -= b"),
        ("if a:\n    b", "a -> False"),
        ("c if a else b", "a -> True"),
        ("[a for a in b if a]", "a -> True"),
        ("for a in b:\n    continue", "continue -> pass"),
        ("def f() -> bool:\n    return a", "return a -> return not a"),
        ("def f() -> float | None:\n    return a", "return a -> return None"),
        ("def f() -> Array:\n    return a", "return a -> return -a"),
        ("def f() -> tuple[int, ...]:\n    return a", "return a -> return ()"),
    ],
)
def test_a_change_is_made(source: str, change: str) -> None:
    assert change in changes(source)


@pytest.mark.parametrize(
    "source",
    [
        "'''words'''",
        "def f(a: int = b) -> int:\n    'words'",
        "x: TypeAlias = Literal['a', 1]",
        "if TYPE_CHECKING:\n    import a",
        "raise ValueError(1)",
        "assert_never(a)",
        "x = f'at 1 {a:.3g}'",
        "x = 'words for people'",
        "x = cast('int', a)",
        "x = isinstance(a, b | c)",
        "x = zip(a, b, strict=True)",
        "x = ', '.join(a)",
        "from __future__ import annotations",
        "@dataclass(frozen=True)\nclass A:\n    b: int",
        "x = 'a b' + b",
        "def f() -> tuple[()]:\n    return ()",
    ],
)
def test_nothing_is_changed(source: str) -> None:
    assert changes(source) == set()


def test_every_mutant_differs_from_the_source_and_compiles() -> None:
    source = "def f(a: int, b: int = 1) -> int:\n    if a < b and not b:\n        return min(a, 2)\n    return a * -b\n"
    tree, made = mutants_of("m", source)
    whole, seen = ast.unparse(tree), set()
    for _, edit in made:
        undo = edit.apply()
        compile(tree, "m", "exec")
        seen.add(ast.unparse(tree))
        undo()
        assert ast.unparse(tree) == whole
    assert whole not in seen
    assert len(seen) == len(made) > 10


def test_names_tell_equal_changes_apart() -> None:
    source = (
        "def f(a: int) -> int:\n    return g(a + 1, 1)\nclass A:\n    def g(self, b: int = 1) -> None:\n        h(b)\n"
    )
    made = [mutant for mutant, _ in mutants_of("m", source)[1]]
    assert len({mutant.key for mutant in made}) == len(made)
    assert {mutant.where for mutant in made} == {"f", "A.g"}
    assert [mutant.nth for mutant in made if mutant.change == "1 -> 2"] == [1, 2, 1]
    assert {mutant.home for mutant in made if mutant.where == "A.g"} == {None, ("A.g", 4)}, (
        "defaults are made at import"
    )
