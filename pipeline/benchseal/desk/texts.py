"""Text as records keep it: Unicode form NFC, whichever keyboard, file system or instrument it came from."""

from __future__ import annotations

import unicodedata
from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any, TypeVar

from benchseal.problems import Notice, Problem, Stopped

if TYPE_CHECKING:
    from collections.abc import Iterable

    from benchseal.records.canonical import Json

T = TypeVar("T")


def kept_text(text: str) -> str:
    """The same text in form NFC; half of a surrogate pair, which no form of Unicode can store, as an escape."""
    return unicodedata.normalize("NFC", text.encode("utf-8", "backslashreplace").decode("utf-8"))


def kept_notices(notices: Iterable[Notice]) -> list[Json]:
    """Notices as a report keeps them: they quote what stood in a file."""
    return [{name: kept_text(text) for name, text in each.told.items()} for each in notices]


def in_kept_form(record: T) -> T:
    """An act or record with every text in form NFC. Raises Stopped for what is no Unicode text: a damaged file name."""
    changed: dict[str, Any] = {}
    for field in fields(record):  # type: ignore[arg-type]  # every act is a dataclass
        value = getattr(record, field.name)
        if type(value) is str:
            changed[field.name] = _normal(value)
        elif isinstance(value, tuple):
            changed[field.name] = tuple(_normal(each) if type(each) is str else each for each in value)
    return replace(record, **changed)  # type: ignore[type-var]


def _normal(text: str) -> str:
    if any("\ud800" <= letter <= "\udfff" for letter in text):
        what = "this name or text holds bytes that are not UTF-8."
        raise Stopped(Problem("text.not-unicode", kept_text(text), what, "Rename the file, or type the text again."))
    return unicodedata.normalize("NFC", text)
