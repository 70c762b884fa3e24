"""What a file is by its first bytes, before any layout: archives and other things that hold no text.

First bytes as in the formats' public descriptions (RFC 1952 for gzip, RFC 8878 for Zstandard, POSIX for tar and ar,
ISO 32000 for PDF, and so on); from memory, no table copied. An archive is never opened.
"""

from __future__ import annotations

import re

from benchseal.problems import Problem

_ARCHIVES: tuple[tuple[bytes, int, str], ...] = (
    (b"PK\x03\x04", 0, "a zip archive or a workbook"),
    (b"PK\x05\x06", 0, "an empty zip archive"),
    (b"PK\x07\x08", 0, "a part of a zip archive"),
    (b"\x1f\x8b", 0, "gzip data"),
    (b"\x1f\x9d", 0, "compress data"),
    (b"\x1f\xa0", 0, "compress data"),
    (b"BZh", 0, "bzip2 data"),
    (b"\xfd7zXZ\x00", 0, "xz data"),
    (b"7z\xbc\xaf\x27\x1c", 0, "a 7z archive"),
    (b"Rar!\x1a\x07", 0, "a rar archive"),
    (b"\x28\xb5\x2f\xfd", 0, "Zstandard data"),
    (b"\x04\x22\x4d\x18", 0, "lz4 data"),
    (b"MSCF\x00", 0, "a cabinet archive"),
    (b"!<arch>\n", 0, "an ar archive"),
    (b"ustar", 257, "a tar archive"),
)
_OTHERS: tuple[tuple[bytes, str], ...] = (
    (b"%PDF-", "a PDF"),
    (b"\x89PNG\r\n", "a picture (PNG)"),
    (b"\xff\xd8\xff", "a picture (JPEG)"),
    (b"GIF8", "a picture (GIF)"),
    (b"II*\x00", "a picture (TIFF)"),
    (b"MM\x00*", "a picture (TIFF)"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "a document of an office program"),
    (b"SQLite format 3\x00", "a database"),
    (b"\x7fELF", "a program"),
    (b"{\\rtf", "a formatted document (RTF)"),
)
_BEGINNINGS = tuple(begins for begins, at, _ in _ARCHIVES if not at)
_UTF_16 = re.compile(rb"(?:\xff\xfe|\xfe\xff|(?:[\x09-\x7e]\x00){8}|(?:\x00[\x09-\x7e]){8})")
_EXPORT_AS_TEXT = "Export the readings at the instrument as text, and give that file."
_UNPACK = "Unpack it yourself, look at what it holds, and give each instrument file by itself."


def packed(data: bytes, source: str) -> Problem | None:
    """The problem of a file that is an archive; None for any other. It is not opened."""
    if not data.startswith(_BEGINNINGS) and not data.startswith(b"ustar", 257):  # most files, told at once
        return None
    for begins, at, name in _ARCHIVES:
        if data.startswith(begins, at):
            what = f"The file is {name}; it was not opened."
            return Problem("ingest.archive", source, what, _UNPACK)
    return None


def other_kind(data: bytes, source: str) -> Problem | None:
    """The problem of a file of another kind than text, told by its first bytes; None for any other."""
    for begins, name in _OTHERS:
        if data.startswith(begins):
            return Problem("ingest.not-text", source, f"The file is {name}, not text.", _EXPORT_AS_TEXT)
    return None


def no_text(data: bytes, source: str) -> Problem | None:
    """Why no layout can know a file: it is no text, or text of two bytes a sign; None where it may be text."""
    if problem := other_kind(data, source):
        return problem
    if _UTF_16.match(data):
        what = "The file looks like UTF-16 text, and no approved layout that knows it is written for that."
        return Problem("ingest.not-text", source, what, "Export another encoding, or have a layout approved for this.")
    if data[:65536].count(0) > len(data[:65536]) // 4:
        return Problem("ingest.not-text", source, "More than a quarter of its bytes are zero.", _EXPORT_AS_TEXT)
    return None
