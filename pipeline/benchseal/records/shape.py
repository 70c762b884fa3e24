"""Records to plain JSON values and back, by their annotations; strict in both directions.

A field that is missing without a default, or unknown, or of another type, is a ValueError that names its path.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from enum import StrEnum
from functools import cache, lru_cache
from typing import Any, Final, TypeVar, cast, get_args

from cattrs import BaseValidationError, Converter, IterableValidationError, IterableValidationNote
from cattrs.gen import make_dict_unstructure_fn, override

from benchseal.records.canonical import Digest, Json, canonical_bytes, digest, parse_canonical
from benchseal.records.unfit import unfit_words

T = TypeVar("T")

# Metadata of a field that came with a later version: it stands in the bytes only where it holds something, so that
# records made before keep their bytes and digests.
LEFT_OUT_WHEN_EMPTY: Final = {"left_out_when_empty": True}


def plain_of(record: object) -> dict[str, Json]:
    """A record as plain JSON values: tuples become arrays, enumerations their text."""
    return cast("dict[str, Json]", _converter().unstructure(record))


def record_of(kind: type[T], value: Json) -> T:
    """Inverse of ``plain_of``. Raises ValueError naming every path that does not fit."""
    try:
        return _converter().structure(value, kind)
    except BaseValidationError as faults:
        raise ValueError(unfit_words(faults)) from None
    except (AttributeError, KeyError, TypeError):  # a number where an object is due has no keys
        raise ValueError("another kind of value is due, an object with keys") from None


def record_bytes(record: object) -> bytes:
    """Canonical bytes of a record."""
    return canonical_bytes(plain_of(record))


class _Itself:
    """A record as itself, not as what it is equal to: in Python, true is 1."""

    __slots__ = ("record",)

    def __init__(self, record: object) -> None:
        self.record = record

    def __hash__(self) -> int:
        return id(self.record)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Itself) and self.record is other.record


def record_digest(record: object) -> Digest:
    """SHA-256 of a record's canonical bytes: its name. Of a record that is asked for again it is kept."""
    return _digest_of(_Itself(record))


@lru_cache(maxsize=512)
def _digest_of(itself: _Itself) -> Digest:
    return digest(record_bytes(itself.record))


def read_record(kind: type[T], data: bytes) -> T:
    """Inverse of ``record_bytes``. Raises ValueError."""
    return record_of(kind, parse_canonical(data))


def _exactly(kind: type) -> Any:  # noqa: ANN401  cattrs hooks are untyped
    def hook(value: object, _: object) -> object:
        if type(value) is not kind:
            raise ValueError(f"expected {kind.__name__}, found {type(value).__name__}")
        return value

    return hook


@cache
def _converter() -> Converter:
    converter = Converter(forbid_extra_keys=True, detailed_validation=True)
    for kind in (str, int, bool):
        converter.register_structure_hook(kind, _exactly(kind))
    converter.register_structure_hook_func(
        lambda kind: isinstance(kind, type) and issubclass(kind, StrEnum), lambda value, kind: kind(value)
    )
    converter.register_structure_hook_func(_is_tuple, _array(converter))
    converter.register_unstructure_hook_func(_is_tuple, _listed(converter))
    converter.register_unstructure_hook_factory(_has_later_fields, _without_empty(converter))
    return converter


def _is_tuple(kind: object) -> bool:
    return getattr(kind, "__origin__", None) is tuple


def _later_fields(kind: Any) -> tuple[str, ...]:  # noqa: ANN401  any class or annotation
    if not (isinstance(kind, type) and is_dataclass(kind)):
        return ()
    return tuple(one.name for one in fields(kind) if one.metadata.get("left_out_when_empty"))


def _has_later_fields(kind: object) -> bool:
    return bool(_later_fields(kind))


def _without_empty(converter: Converter) -> Any:  # noqa: ANN401  cattrs hooks are untyped
    def hook(kind: Any) -> Any:  # noqa: ANN401  a dataclass with later fields
        left_out: Any = {name: override(omit_if_default=True) for name in _later_fields(kind)}
        return make_dict_unstructure_fn(kind, converter, **left_out)

    return hook


def _array(converter: Converter) -> Any:  # noqa: ANN401  cattrs hooks are untyped
    """Arrays only: the library would take a text for a tuple of its letters."""

    def hook(value: object, kind: Any) -> tuple[object, ...]:  # noqa: ANN401  any tuple annotation
        if not isinstance(value, list):
            raise ValueError(f"expected an array, found {type(value).__name__}")  # noqa: TRY004  one kind of fault
        kinds = get_args(kind)
        if kinds[-1] is Ellipsis:
            kinds = (kinds[0],) * len(value)
        if len(kinds) != len(value):
            raise ValueError(f"expected {len(kinds)} items, found {len(value)}")
        return tuple(_items(converter, value, kinds, kind))

    return hook


def _items(converter: Converter, values: list[Any], kinds: tuple[Any, ...], whole: object) -> list[object]:
    """Every item structured, or every item's fault with its index."""
    found: list[object] = []
    faults: list[Exception] = []
    for place, (value, kind) in enumerate(zip(values, kinds, strict=True)):
        try:
            found.append(converter.structure(value, kind))
        except Exception as fault:  # noqa: BLE001  collected, told together
            fault.add_note(IterableValidationNote(f"item {place}", place, kind))
            faults.append(fault)
    if faults:
        raise IterableValidationError(f"{len(faults)} items do not fit", faults, cast("type", whole))
    return found


_ALREADY_PLAIN = frozenset({str, int, bool, type(None)})


def _listed(converter: Converter) -> Any:  # noqa: ANN401  cattrs hooks are untyped
    def hook(items: tuple[object, ...]) -> list[object]:
        if _ALREADY_PLAIN.issuperset(map(type, items)):  # the columns of a run: thousands of texts and numbers
            return list(items)
        return [converter.unstructure(item) for item in items]

    return hook
