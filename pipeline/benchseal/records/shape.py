"""Records to plain JSON values and back, by their annotations; strict in both directions.

A field that is missing without a default, or unknown, or of another type, is a ValueError that names its path.
"""

from __future__ import annotations

from enum import StrEnum
from functools import cache
from typing import Any, TypeVar, cast

from cattrs import BaseValidationError, Converter, transform_error

from benchseal.records.canonical import Json, canonical_bytes, parse_canonical

T = TypeVar("T")


def plain_of(record: object) -> dict[str, Json]:
    """A record as plain JSON values: tuples become arrays, enumerations their text."""
    return cast("dict[str, Json]", _converter().unstructure(record))


def record_of(kind: type[T], value: Json) -> T:
    """Inverse of ``plain_of``. Raises ValueError naming every path that does not fit."""
    try:
        return _converter().structure(value, kind)
    except BaseValidationError as faults:
        raise ValueError("; ".join(transform_error(faults))) from None
    except (KeyError, TypeError) as fault:
        raise ValueError(f"{kind.__name__}: {fault}") from None


def record_bytes(record: object) -> bytes:
    """Canonical bytes of a record."""
    return canonical_bytes(plain_of(record))


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
    converter.register_unstructure_hook_func(
        lambda kind: getattr(kind, "__origin__", None) is tuple, _listed(converter)
    )
    return converter


def _listed(converter: Converter) -> Any:  # noqa: ANN401  cattrs hooks are untyped
    return lambda items: [converter.unstructure(item) for item in items]
