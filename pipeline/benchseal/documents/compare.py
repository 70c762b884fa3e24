"""Two versions of a document, field by field: what stands in one and not in the other, in an order that never changes.

Objects in a list are paired by what names them, not by their place, so that a line put in between changes one thing.
Texts of several lines and lists of words are compared line by line.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from benchseal.records.canonical import canonical_bytes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.canonical import Json

# What names an object within a list: the first of these that all have and that differs between all of them.
_NAMED_BY: Final = (
    ("id",),
    ("label",),
    ("title",),
    ("name",),
    ("element", "quantity", "basis", "expressed_as"),
    ("element", "quantity"),
    ("element",),
)
NOTHING: Final = "(nothing)"


@dataclass(frozen=True, slots=True)
class Difference:
    """One field that differs. path: keys down to it. old, new: None where it is not there.

    lines: for a text of several lines or a list of words, what was taken out (``-``) and put in (``+``).
    """

    path: str
    old: str | None
    new: str | None
    lines: tuple[str, ...] = ()

    def said(self) -> tuple[str, ...]:
        """The difference as lines for people."""
        if self.lines:
            return (f"{self.path}:", *(f"  {line}" for line in self.lines))
        old, new = (NOTHING if text is None else text or "''" for text in (self.old, self.new))
        return (f"{self.path}: {old} -> {new}",)


def differences(old: Json, new: Json) -> tuple[Difference, ...]:
    """Every field in which two plain values differ, in fixed order; nothing where they are equal."""
    return tuple(_walk("", old, new))


def _walk(path: str, old: Any, new: Any) -> Iterator[Difference]:  # noqa: ANN401  JSON of any shape
    if canonical_bytes(old) == canonical_bytes(new):  # as Python compares, true is 1
        return
    if isinstance(old, dict) and isinstance(new, dict):
        yield from _pairs(path, old, new, "{path}.{key}" if path else "{key}")
    elif isinstance(old, list) and isinstance(new, list):
        yield from _lists(path, old, new)
    elif isinstance(old, str) and isinstance(new, str) and "\n" in old + new:
        yield Difference(path, old, new, _lines(old.splitlines(), new.splitlines()))
    else:
        yield Difference(path, _text(old), _text(new))


def _pairs(path: str, old: dict[str, Any], new: dict[str, Any], form: str) -> Iterator[Difference]:
    for key in sorted(old.keys() | new.keys()):
        place = form.format(path=path, key=key)
        if key in old and key in new:
            yield from _walk(place, old[key], new[key])
        else:
            yield Difference(place, _text(old[key]) if key in old else None, _text(new[key]) if key in new else None)


def _lists(path: str, old: list[Any], new: list[Any]) -> Iterator[Difference]:
    keys = _naming(old, new)
    if keys:
        names_old, names_new = ([_name(item, keys) for item in items] for items in (old, new))
        by_old, by_new = dict(zip(names_old, old, strict=True)), dict(zip(names_new, new, strict=True))
        yield from _pairs(path, by_old, by_new, "{path}[{key}]")
        kept_old, kept_new = ([name for name in names if name in by_old and name in by_new]
                              for names in (names_old, names_new))  # fmt: skip
        if kept_old != kept_new:
            yield Difference(f"{path} (order)", ", ".join(kept_old), ", ".join(kept_new))
    elif any(isinstance(item, dict | list) for item in (*old, *new)):
        by_old, by_new = ({f"{place:04d}": item for place, item in enumerate(items, 1)} for items in (old, new))
        yield from _pairs(path, by_old, by_new, "{path}[{key}]")
    else:
        yield Difference(path, _text(old), _text(new), _lines([*map(_text, old)], [*map(_text, new)]))


def _naming(old: list[Any], new: list[Any]) -> tuple[str, ...]:
    """The keys that name the objects of both lists; empty where none do."""
    if not all(isinstance(item, dict) for item in (*old, *new)):
        return ()
    for keys in _NAMED_BY:
        if all(isinstance(item.get(key), str) for item in (*old, *new) for key in keys) and all(
            len({_name(item, keys) for item in items}) == len(items) for items in (old, new)
        ):
            return keys
    return ()


def _name(item: dict[str, Any], keys: tuple[str, ...]) -> str:
    return ", ".join(item[key] for key in keys if item[key])


def _text(value: Any) -> str:  # noqa: ANN401  JSON of any shape
    return value if isinstance(value, str) else canonical_bytes(value).decode()


def _lines(old: list[str], new: list[str]) -> tuple[str, ...]:
    """What differs between two lists of lines, with a line of either side around it; blanks at line ends count."""
    found = [*difflib.unified_diff(old, new, "", "", n=1, lineterm="")][2:]
    return tuple(found) or ("(only line ends differ)",)
