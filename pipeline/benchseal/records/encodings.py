"""Names of encodings as documents say them, and Python's names."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Mapping

Encoding: TypeAlias = Literal[
    "utf-8",
    "utf-16",
    "us-ascii",
    "iso-8859-1",
    "iso-8859-2",
    "iso-8859-15",
    "windows-1250",
    "windows-1251",
    "windows-1252",
    "cp437",
    "cp850",
]
CODECS: Mapping[str, str] = {
    "utf-8": "utf-8",
    "utf-16": "utf-16-le",
    "us-ascii": "ascii",
    "iso-8859-1": "iso8859-1",
    "iso-8859-2": "iso8859-2",
    "iso-8859-15": "iso8859-15",
    "windows-1250": "cp1250",
    "windows-1251": "cp1251",
    "windows-1252": "cp1252",
    "cp437": "cp437",
    "cp850": "cp850",
}
