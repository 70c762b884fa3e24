"""The profile's own lines above and below the table, with their counters filled in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.export.cells import codec_of
from benchseal.export.columns import sum_of
from benchseal.export.profiles import PLACE
from benchseal.records.canonical import digest

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from benchseal.export.arranged import Arranged
    from benchseal.records.profile import FileForm, Profile
    from benchseal.records.released import Delivery

LINE_ENDS: Mapping[str, str] = {"crlf": "\r\n", "lf": "\n"}
_MARKS: Mapping[tuple[str, bool], bytes] = {("utf-8", True): b"\xef\xbb\xbf", ("utf-16", False): b"\xff\xfe"}


def framed(rows: Arranged, profile: Profile, delivery: Delivery, header: str, table: bytes) -> bytes:
    """The whole file of text lines: byte order mark, opening lines, header, table, closing lines.

    header: with its line end; it is left out where the profile says so. table: encoded rows with their line ends.
    """
    places = _counters(rows, profile, delivery, table)
    parts = [_MARKS.get((profile.file.encoding, profile.file.bom), b"")]
    parts.append(_lines(profile.opening_lines, places, profile.file))
    if profile.file.header_line:
        parts.append(header.encode(codec_of(profile.file)))
    parts += [table, _lines(profile.closing_lines, places, profile.file)]
    return b"".join(parts)


def _counters(rows: Arranged, profile: Profile, delivery: Delivery, table: bytes) -> Callable[[str], str]:
    plain_ones = {
        "delivery_id": delivery.delivery_id,
        "produced_at": delivery.produced_at,
        "profile_name": delivery.profile.id,
        "profile_version": str(delivery.profile.version),
        "row_count": str(len(rows.rows)),
    }

    def counter(name: str) -> str:
        if name in plain_ones:
            return plain_ones[name]
        if name == "sha256_of_rows":
            return digest(table)
        return sum_of(rows, name.removeprefix("sum_of:"), profile).replace(".", profile.file.decimal_mark)

    return counter


def _lines(lines: Sequence[str], counter: Callable[[str], str], file: FileForm) -> bytes:
    end = LINE_ENDS[file.line_end]
    filled = (PLACE.sub(lambda place: counter(place[1]), line) for line in lines)
    return "".join(line + end for line in filled).encode(codec_of(file))
