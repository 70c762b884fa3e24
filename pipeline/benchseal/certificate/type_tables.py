"""The tables of a font program beside its letters: as those of the shipped type, but for what a cut-down type needs.

A reader that cannot load a font draws none of its letters, where this program would still read them: one bit of a table
nobody looks at is enough. So each table is the shipped one where it can be; the others are of the one form the
renderer writes, with nothing between them or behind. Source: OpenType 1.9, cmap, GDEF, name, OS/2 and post.
"""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

_HEAD, _ENTRY = 12, 16  # bytes of the directory, and of each of its entries
# Of tables that are the shipped one's but for a few places, those places: sums, numbers of letters, form of places.
_BUT: Final = {
    "STAT": (), "gasp": (), "head": ((8, 12), (50, 52)), "hhea": ((34, 36),), "maxp": ((4, 6),),
    "OS/2": ((42, 58), (64, 68)),
}  # fmt: skip
_RANGES: Final = slice(42, 58)  # of OS/2: which characters there are, a bit each
_NO_NAMES: Final = b"\0\3\0\0"  # of post: no names of letters follow
_POST: Final = 32
_CLASSES: Final = b"\0\1\0\0\0\x0c\0\0\0\0\0\0"  # of GDEF: classes of letters alone
_MOST_CLASSES: Final = 4
_LAST: Final = 0xFFFF
_FORMAT_4, _FORMAT_12 = 4, 12


def tables_fit(data: bytes, entries: Mapping[str, tuple[int, int]], shipped: Mapping[str, bytes]) -> bool:
    """Whether all tables but those of letters are as they have to be.

    entries: place and length of each table in ``data``. shipped: the tables of the type it is cut from.
    Raises struct.error, KeyError or IndexError for a table that is too short.
    """
    tables = {name: data[at : at + length] for name, (at, length) in entries.items()}
    count = struct.unpack_from(">H", tables["maxp"], 4)[0]
    ranges, known = (int.from_bytes(one["OS/2"][_RANGES], "big") for one in (tables, shipped))
    return (
        _directory_fits(data, tables)
        and _without_gaps(data, list(entries.values()))
        and all(_but(tables[name], places) == _but(shipped[name], places) for name, places in _BUT.items())
        and ranges & ~known == 0
        and tables["post"] == _NO_NAMES + shipped["post"][4:_POST]
        and _names_fit(tables["name"], shipped["name"])
        and _classes_fit(tables["GDEF"], count)
        and _characters_fit(tables["cmap"])
    )


def _directory_fits(data: bytes, tables: Mapping[str, bytes]) -> bool:
    """Whether each table has the sum of its numbers in the directory, and the directory its own measures."""
    many = len(tables)
    power = many.bit_length() - 1
    found = {
        data[at : at + 4].decode("ascii"): data[at + 4 : at + 8] for at in range(_HEAD, _HEAD + _ENTRY * many, _ENTRY)
    }
    return struct.unpack_from(">4H", data, 4) == (
        many,
        _ENTRY << power,
        power,
        _ENTRY * many - (_ENTRY << power),
    ) and found == {
        name: _sum_of(_but(table, ((8, 12),)) if name == "head" else table) for name, table in tables.items()
    }


def _sum_of(table: bytes) -> bytes:
    whole = table + bytes(-len(table) % 4)
    numbers: tuple[int, ...] = struct.unpack(f">{len(whole) // 4}L", whole)
    return (sum(numbers) % 2**32).to_bytes(4, "big")


def _but(table: bytes, places: tuple[tuple[int, int], ...]) -> bytes:
    for begin, end in places:
        table = table[:begin] + b"\0" * (end - begin) + table[end:]
    return table


def _without_gaps(data: bytes, entries: list[tuple[int, int]]) -> bool:
    """Whether the tables stand one behind the other, each filled up with nothing to four bytes, to the end."""
    at = _HEAD + _ENTRY * len(entries)
    for begin, length in sorted(entries):
        end = begin + length
        if begin != at or any(data[end : end + -length % 4]):
            return False
        at = end + -length % 4
    return at == len(data)


def _named(table: bytes) -> tuple[list[tuple[bytes, bytes]], bool]:
    """What is named, and how; and whether the table holds nothing else."""
    form, count, begin = struct.unpack_from(">HHH", table)
    covered = bytearray(len(table) - begin)
    found = []
    for nth in range(count):
        about = table[6 + 12 * nth : 14 + 12 * nth]
        length, at = struct.unpack_from(">HH", table, 14 + 12 * nth)
        found.append((about, table[begin + at : begin + at + length]))
        covered[at : at + length] = b"\1" * length
    return found, form == 0 and begin == 6 + 12 * count and all(covered) and len(covered) == len(table) - begin


def _names_fit(table: bytes, shipped: bytes) -> bool:
    found, whole = _named(table)
    return whole and set(found) <= set(_named(shipped)[0])


def _classes_fit(table: bytes, letters: int) -> bool:
    """Ranges of letters in rising order, each of one class; or a class for each letter of one range."""
    form, first, many = struct.unpack_from(">HHH", table, len(_CLASSES))
    if table[: len(_CLASSES)] != _CLASSES:
        return False
    if form == 1:
        classes = struct.unpack(f">{many}H", table[len(_CLASSES) + 6 :])
        return first + many <= letters and max(classes, default=0) <= _MOST_CLASSES
    told = struct.unpack(f">{3 * first}H", table[len(_CLASSES) + 4 :])
    ends = [each for begin, end in zip(told[::3], told[1::3], strict=True) for each in (begin, end)]
    return form == 2 and ends == sorted(ends) and max(ends) < letters and max(told[2::3]) <= _MOST_CLASSES


def _characters_fit(table: bytes) -> bool:
    """Maps that can be loaded, one behind the other, and nothing else. What they say, no reader of the file asks."""
    version, count = struct.unpack_from(">HH", table)
    places = {struct.unpack_from(">L", table, 8 + 8 * nth)[0] for nth in range(count)}
    known = [struct.unpack_from(">HH", table, 4 + 8 * nth) for nth in range(count)]
    at = 4 + 8 * count
    while version == 0 and at in places:
        places.remove(at)
        form, length = struct.unpack_from(">HH", table, at)
        if form == _FORMAT_4:
            fits = _segments_fit(table[at : at + length], length)
        else:
            form, length = struct.unpack_from(">LL", table, at)
            fits = form == _FORMAT_12 << 16 and table[at + 8 : at + 12] == bytes(4) and _groups_fit(table, at, length)
        if not fits:
            return False
        at += length
    return at == len(table) and not places and known == sorted(known) and set(known) <= _KINDS


_KINDS: Final = frozenset({(0, 3), (0, 4), (0, 6), (3, 1), (3, 10)})


def _segments_fit(table: bytes, length: int) -> bool:
    language, twice, search, steps, rest = struct.unpack_from(">5H", table, 4)
    many = twice // 2
    power = max(many, 1).bit_length() - 1
    told = struct.unpack_from(f">{4 * many + 1}H", table, 14)
    ends, begins = told[:many], told[many + 1 : 2 * many + 1]
    bounds = [each for begin, end in zip(begins, ends, strict=True) for each in (begin, end)]
    return (
        len(table) == length
        and (language, twice, told[many], bounds[-1]) == (0, 2 * many, 0, _LAST)
        and (search, steps, rest) == (2 << power, power, twice - (2 << power))
        and bounds == sorted(bounds)
    )


def _groups_fit(table: bytes, at: int, length: int) -> bool:
    (many,) = struct.unpack_from(">L", table, at + 12)
    return length == 16 + 12 * many and at + length <= len(table)
