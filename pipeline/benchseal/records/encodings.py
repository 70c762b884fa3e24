"""Names of encodings as documents say them, Python's names, and bytes that are those of another encoding."""

from __future__ import annotations

import re
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
_MARK = b"\xef\xbb\xbf"
_UNICODE = ("utf-8", "utf-16", "us-ascii", "ascii")  # beginnings; these refuse themselves what is of another encoding
_BEYOND_ASCII = re.compile(rb"[\x80-\xff]+")
# What UTF-8 writes with C2, C3 or E2 first: letters and signs of Western Europe, dashes, quotes, units.
_ALONE = re.compile("[\x80-\xff\u2000-\u2fff]")


def misread(data: bytes, encoding: str, codec: str) -> tuple[int, str] | None:
    """Place and reason where bytes are UTF-8 and ``encoding``, a code of one byte a sign, would read them as others.

    A mark of UTF-8 at the beginning; or every byte above 7f part of a well-formed sign of UTF-8. Words of a one-byte
    code are so practically never (common practice, no source), but a pair of capitals may be (``ÓŁ`` of windows-1250):
    one sign alone, however often, says it only where it is of those that begin with C2, C3 or E2.
    """
    if encoding.startswith(_UNICODE) or data.isascii():
        return None
    if data.startswith(_MARK):
        return 0, f"The file begins with the mark of UTF-8 (ef bb bf), and {encoding} is due."
    try:
        signs = {sign for sign in data.decode("utf-8") if not sign.isascii()}
    except UnicodeDecodeError:
        return None
    if len(signs) == 1 and not _ALONE.fullmatch("".join(signs)):
        return None
    first = _BEYOND_ASCII.search(data)
    assert first is not None  # noqa: S101  it is not ASCII
    meant, read = first[0].decode("utf-8")[:10], first[0].decode(codec, "replace")[:20]
    return (
        first.start(),
        f"Every sign outside ASCII is well-formed UTF-8, and {encoding} is due: '{meant}' would be read as '{read}'.",
    )
