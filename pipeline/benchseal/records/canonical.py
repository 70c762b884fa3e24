"""Canonical bytes: one record, one byte string, one digest.

The domain is narrow on purpose (architecture: decision record 0001): ASCII keys, NFC strings, integers
within 2**53 - 1, booleans, null, arrays, objects. Measured numbers are strings. In that domain sorted
``json.dumps`` equals RFC 8785 (JSON Canonicalization Scheme); a property test compares with ``rfc8785``.
"""

from __future__ import annotations

import hashlib
import json
import unicodedata
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Callable

Json: TypeAlias = "bool | int | str | list[Json] | dict[str, Json] | None"
Digest: TypeAlias = str  # SHA-256, 64 lower-case hexadecimal figures

_LARGEST = 2**53 - 1
_WRITTEN = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode


def canonical_bytes(value: Json) -> bytes:
    """Canonical UTF-8 bytes of ``value``. Raises ValueError where ``value`` leaves the domain."""
    if not _in_domain(value):
        _require_domain(value, "$")
    return _WRITTEN(value).encode("utf-8")


def digest(data: bytes) -> Digest:
    """SHA-256 of plain bytes as 64 lower-case hexadecimal figures."""
    return hashlib.sha256(data).hexdigest()


def digest_of(value: Json) -> Digest:
    """SHA-256 of the canonical bytes of ``value``."""
    return digest(canonical_bytes(value))


def parse_canonical(data: bytes) -> Json:
    """Inverse of ``canonical_bytes``. Raises ValueError for anything that is not canonical."""
    try:
        value: Json = json.loads(data)
        if canonical_bytes(value) == data:  # no key can stand twice in it, nor any number that is none
            return value
    except (ValueError, RecursionError):  # said below, with the words of its fault
        pass
    canonical_bytes(parse_json(data))
    raise ValueError("bytes are not canonical")


def parse_json(data: bytes | str, parse_float: Callable[[str], float] = float) -> Json:
    """Strict JSON: refuses duplicate keys, NaN and infinities, unreasonable depth, and text that is no Unicode.

    Raises ValueError. Half a surrogate pair, written as an escape, is what RFC 7493, 2.1 forbids.
    parse_float: what makes a number of a literal with a point or an exponent.
    """
    try:
        parsed: Json = json.loads(data, object_pairs_hook=_unique, parse_constant=_no_constant, parse_float=parse_float)
    except RecursionError:
        raise ValueError("nested too deeply") from None
    except json.JSONDecodeError as fault:
        if not data.strip():
            raise ValueError("it is empty") from None
        raise ValueError(f"line {fault.lineno}, sign {fault.colno} is not written as JSON") from None
    except UnicodeDecodeError:
        raise ValueError("it is no text in UTF-8") from None
    if (b"\\" if isinstance(data, bytes) else "\\") in data and not is_unicode(parsed):  # type: ignore[operator]
        raise ValueError("text holds half a surrogate pair")
    return parsed


def is_unicode(value: object) -> bool:
    """Whether every text in parsed JSON, keys too, can be written as UTF-8."""
    if isinstance(value, str):
        return value.isascii() or not any("\ud800" <= letter <= "\udfff" for letter in value)
    if isinstance(value, dict):
        return all(is_unicode(key) and is_unicode(item) for key, item in value.items())
    return all(map(is_unicode, value)) if isinstance(value, list) else True


def _unique(pairs: list[tuple[str, Json]]) -> dict[str, Json]:
    found = dict(pairs)
    if len(found) != len(pairs):
        twice = sorted({key for key, _ in pairs if sum(key == other for other, _ in pairs) > 1})
        raise ValueError(f"key given twice: {', '.join(twice)}")
    return found


def _no_constant(text: str) -> Json:
    raise ValueError(f"{text} is not a JSON number")


def _in_domain(value: Json) -> bool:
    """Whether ``value`` is plainly in the domain; where not, ``_require_domain`` decides, and says where."""
    kind = type(value)
    if kind is str:
        return value.isascii() or _text_fault(value) == ""  # type: ignore[union-attr, arg-type]
    if kind is dict:
        for key, item in value.items():  # type: ignore[union-attr]  # noqa: SIM110  a loop: met for every record
            if not (type(key) is str and key.isascii() and _in_domain(item)):
                return False
        return True
    if kind is list:
        return all(map(_in_domain, value))  # type: ignore[arg-type]
    if kind is int:
        return -_LARGEST <= value <= _LARGEST  # type: ignore[operator]
    return kind is bool or value is None


def _require_domain(value: Json, at: str) -> None:
    match value:
        case None | bool():
            return
        case int():
            if abs(value) > _LARGEST:
                raise ValueError(f"{at}: integer beyond 2**53 - 1")
        case str():
            _require_text(value, at)
        case list():
            for index, item in enumerate(value):
                _require_domain(item, f"{at}[{index}]")
        case dict():
            for key, item in value.items():
                if not _is_ascii_text(key):
                    raise ValueError(f"{at}: key {key!r} is not ASCII text")
                _require_domain(item, f"{at}.{key}")
        case _:
            raise ValueError(f"{at}: {type(value).__name__} has no canonical form; measured numbers are text")


def _is_ascii_text(key: object) -> bool:
    return isinstance(key, str) and key.isascii()


def _require_text(value: str, at: str) -> None:
    fault = "" if value.isascii() else _text_fault(value)
    if fault:
        raise ValueError(f"{at}: {fault}")


def _text_fault(value: str) -> str:
    if not unicodedata.is_normalized("NFC", value):
        return "text is not in Unicode form NFC"
    if not is_unicode(value):
        return "text holds half a surrogate pair"
    return ""
