"""Bytes to lines: strict decoding, nothing replaced, every refused byte with its place."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from benchseal.problems import Problem
from benchseal.records.encodings import misread

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.layout import Encoding, Layout

LARGEST_FILE = 64 * 2**20
LONGEST_LINE = 4096
MOST_LINES = 1_000_000
MOST_LISTED = 50
RECOGNISED_WITHIN = 40  # lines

_CODEC = {"utf-8": "utf-8-sig", "windows-1252": "cp1252", "iso-8859-1": "latin-1", "iso-8859-15": "iso8859-15"}
# Surrogates stand for bytes that did not decode; a form feed is a page break, judged by the layout.
_UNFIT = re.compile("[\x00-\x08\x0b\x0e-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]")
_EXPORT_AGAIN = "Export the file at the instrument again; do not edit the stored copy."


def text_lines(
    data: bytes, encoding: Encoding, source: str, printer_codes: tuple[str, ...] = ()
) -> list[str] | tuple[Problem, ...]:
    """Lines of a file without their ends (CRLF, LF or CR), or every problem with line and column.

    printer_codes: byte sequences in hexadecimal that are taken out of the text before it is cut into lines.
    """
    refused = _refused_whole(data, source)
    if refused:
        return (refused,)
    text = _decoded(data, encoding)
    if isinstance(text, int):
        return (_undecodable(data, text, encoding, source),)
    text = _without_codes(text, printer_codes)
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    fit = "".join(lines).isprintable() or _UNFIT.search(text) is None  # what prints is no control sign: the quick yes
    if fit and len(lines) <= MOST_LINES and max(map(len, lines)) <= LONGEST_LINE:
        return lines
    return listed(_unfit_lines(lines, encoding, source), source)


def of_another_encoding(data: bytes, encoding: Encoding, source: str) -> Problem | None:
    """Bytes that are UTF-8 where the layout says a code of one byte a sign: names and units would be other signs.

    Asked where a file is taken in; the lines of one that came in before are still shown as they were read.
    """
    found = misread(data, encoding, _CODEC.get(encoding, encoding))
    if found is None:
        return None
    line = data[: found[0]].replace(b"\r\n", b"\n").replace(b"\r", b"\n").count(b"\n") + 1
    remedy = (
        "Where the instrument writes UTF-8 now, the layout needs a new version with encoding: utf-8; where another "
        "program has saved the file, export it again."
    )
    return Problem("ingest.encoding-differs", f"{source}, line {line}", found[1], remedy)


def first_lines(data: bytes, encoding: Encoding, most: int, printer_codes: tuple[str, ...] = ()) -> tuple[str, ...]:
    """The first lines, for recognising a file; bytes that do not decode are replaced."""
    text = data[:32768].decode(_CODEC.get(encoding, encoding), errors="replace")
    text = _without_codes(text, printer_codes)
    return tuple(text.replace("\r\n", "\n").replace("\r", "\n").split("\n")[:most])


def opening_lines(data: bytes, layout: Layout) -> list[str]:
    """The lines a layout looks at to know a file."""
    form = layout.file
    return [line.lstrip("\f") for line in first_lines(data, form.encoding, RECOGNISED_WITHIN, form.printer_codes)]


def listed(problems: Iterator[Problem], source: str) -> tuple[Problem, ...]:
    """At most ``MOST_LISTED`` problems, then one that says how many more there are."""
    found = list(dict.fromkeys(problems))  # a line that several runs share is faulty once
    if len(found) <= MOST_LISTED:
        return tuple(found)
    more = Problem(
        "ingest.more-problems", source, f"{len(found) - MOST_LISTED} more problems are not listed.",
        "Mend the first ones; most of the others go with them.",
    )  # fmt: skip
    return (*found[:MOST_LISTED], more)


def _without_codes(text: str, printer_codes: tuple[str, ...]) -> str:
    """Longer codes first: a code may begin with another one."""
    if not printer_codes:
        return text
    codes = sorted(
        (bytes.fromhex(code).decode("latin-1") for code in printer_codes), key=lambda code: (-len(code), code)
    )
    return re.sub("|".join(map(re.escape, codes)), "", text)


def _refused_whole(data: bytes, source: str) -> Problem | None:
    if not data.removeprefix(b"\xef\xbb\xbf").strip():
        return Problem("ingest.file-empty", source, "The file holds nothing.", _EXPORT_AGAIN)
    if len(data) > LARGEST_FILE:
        what = f"The file has {len(data)} bytes; at most {LARGEST_FILE} are read."
        return Problem("ingest.file-too-large", source, what, "Export fewer runs into one file.")
    return None


def _decoded(data: bytes, encoding: Encoding) -> str | int:
    """The text, or the place of the first byte that cannot be shown in it (UTF-16 only)."""
    if not encoding.startswith("utf-16"):
        return data.decode(_CODEC.get(encoding, encoding), errors="surrogateescape")
    if encoding == "utf-16" and data[:2] not in (b"\xff\xfe", b"\xfe\xff"):
        return 0
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as fault:
        return fault.start


def _undecodable(data: bytes, at: int, encoding: Encoding, source: str) -> Problem:
    what = f"Byte {at + 1} (hexadecimal {data[at : at + 2].hex()}) is not {encoding} text."
    return Problem("ingest.byte-undecodable", source, what, _check_encoding(encoding))


def _check_encoding(encoding: Encoding) -> str:
    return f"Check that the layout's encoding ({encoding}) is what the instrument writes, or export the file again."


def _unfit_lines(lines: list[str], encoding: Encoding, source: str) -> Iterator[Problem]:
    if len(lines) > MOST_LINES:
        what = f"The file has {len(lines)} lines; at most {MOST_LINES} are read."
        yield Problem("ingest.file-too-large", source, what, "Export fewer runs into one file.")
    if sum(line.count("\0") for line in lines) > sum(map(len, lines)) // 4:
        what = "Every other byte is zero: this looks like UTF-16 text or no text at all."
        yield Problem("ingest.not-text", source, what, _check_encoding(encoding))
        return
    for number, line in enumerate(lines, 1):
        if len(line) > LONGEST_LINE:
            what = f"The line has {len(line)} signs; at most {LONGEST_LINE} are read."
            yield Problem("ingest.line-too-long", f"{source}, line {number}", what, _EXPORT_AGAIN)
        for found in _UNFIT.finditer(line):
            yield _unfit(found, number, encoding, source)


def _unfit(found: re.Match[str], number: int, encoding: Encoding, source: str) -> Problem:
    where, sign = f"{source}, line {number}, column {found.start() + 1}", ord(found[0])
    if sign >= 0xD800:
        what = f"Byte {sign - 0xDC00:02x} (hexadecimal) is not {encoding} text."
        return Problem("ingest.byte-undecodable", where, what, _check_encoding(encoding))
    what = f"Control sign {sign:02x} (hexadecimal) stands in the text."
    if not 0 < sign < ord(" "):  # a zero shows another encoding
        return Problem("ingest.control-sign", where, what, _EXPORT_AGAIN)
    listed = f"have a new version of the layout list it, printer_codes: ['{sign:02x}']"
    remedy = f"Where the instrument always writes it, {listed}; else export again. Do not edit the stored copy."
    return Problem("ingest.control-sign", where, what, remedy)
