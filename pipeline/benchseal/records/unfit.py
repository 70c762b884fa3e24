"""What does not fit a record, in plain words: which value, what is due, and where it stands."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, get_args

from cattrs import transform_error
from cattrs.errors import ForbiddenExtraKeysError

if TYPE_CHECKING:
    from collections.abc import Iterator

_CALLED: Final = {"str": "a text", "int": "a whole number", "bool": "true or false", "tuple": "a list", "dict": "keys"}
_LONGEST: Final = 40  # signs of a value that are repeated


def unfit_words(faults: Exception) -> str:
    """Every fault a converter found, each with its place: ``certificates[1].state: 'gone' is none of: …``."""
    return "; ".join(_placed(transform_error(faults, format_exception=_said)))


def _placed(lines: list[str]) -> Iterator[str]:
    for line in lines:
        what, _, path = line.rpartition(" @ $")
        place = path.removeprefix(".")
        yield f"{place}: {what}" if place else what


def _said(fault: BaseException, due: Any) -> str:  # noqa: ANN401  any annotation
    value, sign, _ = str(fault).partition(" not in literal ")
    if sign:
        words = ", ".join(map(str, get_args(due)))
        return f"'{value[:_LONGEST]}' is none of: {words}" if words else f"'{value[:_LONGEST]}' is not known here"
    if isinstance(fault, KeyError):
        return "it is missing"
    if isinstance(fault, ForbiddenExtraKeysError):
        return f"nobody knows {', '.join(sorted(fault.extra_fields))}"
    name = getattr(due, "__name__", "")
    return f"another kind of value is due{f', {_CALLED[name]}' if name in _CALLED else ''}"
