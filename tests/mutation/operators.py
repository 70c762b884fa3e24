"""Mutants of a module: one small change of its syntax tree each, none of them in annotations or in words for people.

Left out on purpose: docstrings, pieces of f-strings, strings with spaces, annotations and type aliases, decorators,
``if TYPE_CHECKING``, what a raised exception says, ``assert_never``, ``strict=`` of ``zip``, ``np.errstate`` and
``dtype=``, and changes that only break a type (a sum of texts turned into a difference).
"""

from __future__ import annotations

import ast
import re
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

MODULE_LEVEL = "<module>"
_CODE = re.compile(r"[A-Za-z0-9_./%-]+\Z")
_NUMBER = re.compile(r"\d+\Z")
_UNTYPED = frozenset({"annotation", "returns", "decorator_list", "type_params", "type_comment", "format_spec"})
_SILENT_CALLS = frozenset({"assert_never", "errstate", "TypeVar"})
_SILENT_KEYWORDS = frozenset({"strict", "dtype"})

_COMPARISONS: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
_ARITHMETIC: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Div,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
_NAMES = {
    "min": "max",
    "max": "min",
    "any": "all",
    "all": "any",
    "minimum": "maximum",
    "maximum": "minimum",
    "floor": "ceil",
    "ceil": "floor",
    "sorted": "list",
}
_UNWRAPPED = frozenset({"abs", "reversed", "sqrt"})


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change. where: qualified name of the function; context: its source line; nth: among equal ones.

    statement: first line of the statement; home: name and first line of the outermost function, None at import.
    """

    module: str
    where: str
    line: int
    context: str
    change: str
    nth: int
    statement: int
    home: tuple[str, int] | None

    @property
    def key(self) -> tuple[str, str, str, str, int]:
        """What names the mutant even when lines move."""
        return (self.module, self.where, self.context, self.change, self.nth)


@dataclass(frozen=True, slots=True)
class Edit:
    """A place in a tree and what to put there."""

    parent: ast.AST
    field: str
    index: int | None
    new: ast.AST

    def apply(self) -> Callable[[], None]:
        """Change the tree; gives what changes it back."""
        if self.index is None:
            old = getattr(self.parent, self.field)
            setattr(self.parent, self.field, self.new)
            return lambda: setattr(self.parent, self.field, old)
        items, place = getattr(self.parent, self.field), self.index
        kept = items[place]
        items[place] = self.new
        return lambda: items.__setitem__(place, kept)


@dataclass(frozen=True, slots=True)
class _Around:
    """What surrounds a node."""

    names: tuple[str, ...] = ()
    home: tuple[str, int] | None = None
    line: int = 0
    returns: str = ""


@dataclass(frozen=True, slots=True)
class _Found:
    around: _Around
    old: ast.AST
    edit: Edit


def mutants_of(module: str, source: str) -> tuple[ast.Module, list[tuple[Mutant, Edit]]]:
    """Every mutant of ``source`` in order of place, with the tree its edits belong to."""
    tree = ast.parse(source)
    texts, seen, made = source.splitlines(), Counter[tuple[str, str, str]](), []
    for found in _children(tree, _Around()):
        line = getattr(found.old, "lineno", found.around.line)
        where = ".".join(found.around.names) or MODULE_LEVEL
        name = (where, texts[line - 1].strip(), f"{_shown(found.old)} -> {_shown(found.edit.new)}")
        seen[name] += 1
        made.append(
            (Mutant(module, where, line, *name[1:], seen[name], found.around.line, found.around.home), found.edit)
        )
    return tree, made


def _shown(node: ast.AST) -> str:
    text = " ".join(ast.unparse(node).split())
    return text if len(text) <= 100 else f"{text[:97]}..."


def _children(node: ast.AST, around: _Around) -> Iterator[_Found]:
    for field, value in ast.iter_fields(node):
        if field in _UNTYPED:
            continue
        places = enumerate(value) if isinstance(value, list) else [(None, value)]
        for index, child in places:
            if isinstance(child, ast.AST) and not _silent(child, node, field):
                inner = _inside(child, around)
                for new in _replacements(child, node, field, inner):
                    copied = ast.fix_missing_locations(ast.copy_location(new, child))
                    yield _Found(inner, child, Edit(node, field, index, copied))
                yield from _children(child, inner)


def _inside(node: ast.AST, around: _Around) -> _Around:
    names, home, line, returns = around.names, around.home, around.line, around.returns
    if isinstance(node, ast.stmt):
        line = node.lineno
    if isinstance(node, ast.ClassDef | ast.FunctionDef):
        names = (*names, node.name)
    if isinstance(node, ast.FunctionDef):
        start = min([node.lineno, *(one.lineno for one in node.decorator_list)])
        home = home or (".".join(names), start)
        returns = ast.unparse(node.returns) if node.returns else ""
    elif isinstance(node, ast.arguments) and home is not None and home[0] == ".".join(names):
        home = None  # default values are made at import
    return _Around(names, home, line, returns)


def _called(node: ast.AST) -> str:
    """Name of the called function, or of nothing."""
    if not isinstance(node, ast.Call):
        return ""
    return node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")


def _silent(node: ast.AST, parent: ast.AST, field: str) -> bool:
    """Whether neither the node nor anything in it is to be changed."""
    inner = node.value if isinstance(node, ast.Expr) else node
    if _called(inner) in _SILENT_CALLS:
        return True
    match node:
        case ast.Expr(value=ast.Constant()) | ast.Raise() | ast.Import() | ast.ImportFrom():
            return True
        case ast.AnnAssign(annotation=kind):
            return ast.unparse(kind) == "TypeAlias"
        case ast.If(test=ast.Name(id="TYPE_CHECKING")):
            return True
        case ast.keyword(arg=name):
            return name in _SILENT_KEYWORDS
        case _:
            return _names_a_type(node, parent, field) or _is_word(node, parent)


def _names_a_type(node: ast.AST, parent: ast.AST, field: str) -> bool:
    if not isinstance(parent, ast.Call) or field != "args":
        return False
    place = {"cast": 0, "isinstance": -1, "issubclass": -1}.get(_called(parent))
    return place is not None and node is parent.args[place]


def _is_word(node: ast.AST, parent: ast.AST) -> bool:
    """Pieces of f-strings, and what joins texts."""
    if isinstance(node, ast.Constant) and isinstance(parent, ast.JoinedStr):
        return True
    return isinstance(parent, ast.Attribute) and parent.attr == "join"


def _replacements(node: ast.AST, parent: ast.AST, field: str, around: _Around) -> Iterator[ast.AST]:
    """What may stand in the place of ``node``; parts of the tree are shared, never changed."""
    if field == "test" and isinstance(parent, ast.If | ast.IfExp | ast.While) and not isinstance(parent, ast.Assert):
        yield ast.Constant(value=False)
        if not isinstance(parent, ast.While):
            yield ast.Constant(value=True)
    if field in ("ifs", "guard"):
        yield ast.Constant(value=True)
    if isinstance(node, ast.stmt):
        yield from _statement(node, around)
    elif isinstance(node, ast.Constant):
        yield from _constant(node)
    elif isinstance(node, ast.Slice):
        yield from _slice(node)
    elif isinstance(node, ast.Call):
        yield from _call(node)
    elif isinstance(node, ast.expr):
        yield from _expression(node)


def _expression(node: ast.expr) -> Iterator[ast.AST]:
    match node:
        case ast.Compare():
            for place, own in enumerate(node.ops):
                ops = [*node.ops[:place], _COMPARISONS[type(own)](), *node.ops[place + 1 :]]
                yield ast.Compare(node.left, ops, node.comparators)
        case ast.BinOp() if type(node.op) in _ARITHMETIC and not (_text(node.left) or _text(node.right)):
            yield ast.BinOp(node.left, _ARITHMETIC[type(node.op)](), node.right)
        case ast.BoolOp():
            yield ast.BoolOp(ast.Or() if isinstance(node.op, ast.And) else ast.And(), node.values)
        case ast.UnaryOp():
            yield node.operand
        case ast.Attribute(attr=name) if name in _NAMES and isinstance(node.ctx, ast.Load):
            yield ast.Attribute(node.value, _NAMES[name], node.ctx)
        case _:
            return


def _text(node: ast.expr) -> bool:
    if isinstance(node, ast.Constant):
        return isinstance(node.value, str)
    return isinstance(node, ast.JoinedStr | ast.List | ast.Tuple | ast.Dict) or _called(node) in (
        "tuple",
        "list",
        "str",
    )


def _call(node: ast.Call) -> Iterator[ast.AST]:
    name = _called(node)
    if isinstance(node.func, ast.Name) and name in _NAMES:
        keywords = [] if name == "sorted" else node.keywords
        yield ast.Call(ast.Name(_NAMES[name], ast.Load()), node.args, keywords)
    if name in _UNWRAPPED and len(node.args) == 1:
        yield ast.Call(ast.Name("list", ast.Load()), node.args, []) if name == "reversed" else node.args[0]


def _constant(node: ast.Constant) -> Iterator[ast.AST]:
    value = node.value
    if isinstance(value, bool):
        yield ast.Constant(not value)
    elif isinstance(value, int | float):
        yield ast.Constant(value + 1)
    elif isinstance(value, str) and _NUMBER.match(value):
        yield ast.Constant(str(int(value) + 1))
    elif isinstance(value, str) and (not value or _CODE.match(value)):
        yield ast.Constant(f"{value}~")


def _slice(node: ast.Slice) -> Iterator[ast.AST]:
    if node.lower is not None:
        yield ast.Slice(None, node.upper, node.step)
    if node.upper is not None:
        yield ast.Slice(node.lower, None, node.step)


def _statement(node: ast.stmt, around: _Around) -> Iterator[ast.AST]:
    match node:
        case ast.Return(value=value) if value is not None:
            yield from (ast.Return(new) for new in _returned(value, around.returns))
        case ast.Expr(value=ast.Call() | ast.Yield() | ast.YieldFrom()) | ast.Continue() | ast.Break():
            yield ast.Pass()
        case ast.Assign(targets=[ast.Subscript() | ast.Attribute()]):
            yield ast.Pass()
        case ast.AugAssign():
            yield ast.Pass()
            if type(node.op) in _ARITHMETIC and not _text(node.value):
                yield ast.AugAssign(node.target, _ARITHMETIC[type(node.op)](), node.value)
        case _:
            return


def _returned(value: ast.expr, returns: str) -> Iterator[ast.expr]:
    """Another value of the same type as far as the annotation tells; nothing where it would be the same."""
    constant = value.value if isinstance(value, ast.Constant) else ...
    if "None" in returns.split(" | "):
        if constant is not None:
            yield ast.Constant(value=None)
    elif returns in ("bool", "TypeGuard"):
        if constant is ...:
            yield ast.UnaryOp(ast.Not(), value)
    elif returns in ("float", "int", "Array", "Decimal", "Fraction"):
        yield ast.UnaryOp(ast.USub(), value)
    elif returns.startswith(("tuple[", "list[", "dict[")) and not (isinstance(value, ast.Tuple) and not value.elts):
        yield ast.Tuple([], ast.Load()) if returns.startswith("tuple[") else ast.Constant(value=None)
