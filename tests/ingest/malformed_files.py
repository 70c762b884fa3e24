"""Faults of a file as a whole: its bytes, lines lost, doubled or cut off, the header of its table."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.ingest.malformed import (
    CODE_PAGE,
    COLUMNS,
    COMMA,
    END,
    HEAD,
    HEADER,
    PAGE,
    ROWS,
    SEMI,
    Case,
    good,
    lines_of,
    put,
)

if TYPE_CHECKING:
    from collections.abc import Iterator


def encodings() -> Iterator[Case]:
    """Bytes the code page does not have, at the line and sign they stand at."""
    for bad in (b"\xff", b"\xc3(", b"\xe9", b"\x80", b"\xed\xa0\x80", b"\xf5\x80\x80\x80", b"\xc0\xaf"):
        for number, at in ((2, 6), (17, 5), (60, 0), (125, 3)):
            line = lines_of(COMMA)[number - 1]
            data = put(COMMA, number, line[:at] + bad + line[at:])
            yield Case(
                f"utf-8 {bad.hex()} in {number}", COMMA, data, "byte-undecodable", f"line {number}, column {at + 1}"
            )
    for bad in (b"\x81", b"\x8d", b"\x8f", b"\x90", b"\x9d"):
        for number in (3, 20, 50):
            line = lines_of(SEMI)[number - 1]
            data = put(SEMI, number, line[:4] + bad + line[4:])
            yield Case(f"1252 {bad.hex()} in {number}", SEMI, data, "byte-undecodable", f"line {number}, column 5")


def control_signs() -> Iterator[Case]:
    """Every control sign but tab, line ends and form feed, in a row; some of the second block."""
    for sign in [*range(1, 9), 11, *range(14, 32), 127]:
        line = lines_of(COMMA)[20]
        data = put(COMMA, 21, line[:3] + bytes([sign]) + line[3:])
        yield Case(f"sign {sign:02x}", COMMA, data, "control-sign", "line 21, column 4")
    for sign in (0x80, 0x85, 0x9B):
        text = lines_of(COMMA)[30].decode()
        data = put(COMMA, 31, (text[:2] + chr(sign) + text[2:]).encode())
        yield Case(f"sign {sign:02x}", COMMA, data, "control-sign", "line 31, column 3")
    for layout, number in ((COMMA, 4), (SEMI, 16), (PAGE, 20)):
        line = lines_of(layout)[number - 1]
        yield Case(
            f"one NUL in {layout}",
            layout,
            put(layout, number, line + b"\0"),
            "control-sign",
            f"line {number}, column {len(line) + 1}",
        )
    for layout in (COMMA, SEMI):
        yield Case(
            f"the end sign of old systems in {layout}",
            layout,
            good(layout) + b"\x1a",
            "control-sign",
            f"line {len(lines_of(layout))}, column 1",
        )


def not_text() -> Iterator[Case]:
    """Text of two bytes a sign without declaration, and NUL bytes."""
    for layout in (COMMA, SEMI, PAGE):
        text = good(layout).decode(CODE_PAGE[layout])
        for encoding in ("utf-16-le", "utf-16-be", "utf-32-le"):
            yield Case(f"{layout} as {encoding}", layout, text.encode(encoding), "not-text")
        yield Case(f"{layout} behind zeros", layout, bytes(20_000) + good(layout), "not-text")


ARCHIVES = (
    b"PK\x03\x04",
    b"PK\x05\x06",
    b"PK\x07\x08",
    b"\x1f\x8b\x08",
    b"\x1f\x9d",
    b"\x1f\xa0",
    b"BZh9",
    b"\xfd7zXZ\x00",
    b"7z\xbc\xaf\x27\x1c",
    b"Rar!\x1a\x07\x01",
    b"\x28\xb5\x2f\xfd",
    b"\x04\x22\x4d\x18",
    b"MSCF\x00",
    b"!<arch>\n",
    b"inner.txt".ljust(257, b"\0") + b"ustar\x0000",
)


def archives() -> Iterator[Case]:
    """Each kind of archive, by itself and with the whole good file behind its first bytes."""
    for nth, begins in enumerate(ARCHIVES):
        yield Case(f"archive {nth}", COMMA, begins + bytes(100), "archive")
        yield Case(f"archive {nth} with text", SEMI, begins + good(SEMI), "archive")


def empty() -> Iterator[Case]:
    for name, data in (("blanks", b"   "), ("line ends", END * 5), ("tabs", b"\t\t\r\n\t"), ("mark", b"\xef\xbb\xbf"),
                       ("mark and blanks", b"\xef\xbb\xbf \r\n"), ("form feeds", b"\f\f")):  # fmt: skip
        for layout in (COMMA, SEMI, PAGE):
            yield Case(f"only {name} for {layout}", layout, data, "file-empty")


def cut() -> Iterator[Case]:
    """Files that end too early: in the head, at the end of a row, inside a row, before the closing lines."""
    for number in range(1, 13, 2):
        lines = lines_of(COMMA)[:number]
        yield Case(f"cut in the head at {number}", COMMA, END.join(lines), "section-missing", f"line {number}")
    for layout in (COMMA, SEMI, PAGE):
        rows = ROWS[layout]
        for number in (*rows[::23], rows[-1]):
            lines = lines_of(layout)[:number]
            yield Case(f"{layout} cut after {number}", layout, END.join(lines), "cut-off", f"line {number}")
            half = END.join([*lines[:-1], lines[-1][: len(lines[-1]) // 2]])
            yield Case(f"{layout} cut inside {number}", layout, half, "cut-off", f"line {number}")
        last = len(lines_of(layout)) - 1
        yield Case(
            f"{layout} without its last line",
            layout,
            END.join(lines_of(layout)[: last - 1]),
            "cut-off",
            f"line {last - 1}",
        )


def lost_lines() -> Iterator[Case]:
    for number in (*range(3, 12),):
        yield Case(f"head line {number} lost", COMMA, put(COMMA, number), "line-missing", "line 13")
    for number in (2, 3):
        yield Case(f"head line {number} lost in sections", SEMI, put(SEMI, number), "line-missing", "line 6")
    for number in (8, 9, 10, 11, 12):
        yield Case(f"section line {number} lost", SEMI, put(SEMI, number), "line-missing", "line 12")
    for number in (6, 7, 8):
        yield Case(f"series line {number} lost", PAGE, put(PAGE, number), "line-missing", "line 10")
    for number in ROWS[COMMA][1:-3:12]:  # the second reading of a solution: the third comes in its place
        column = len(lines_of(COMMA)[number].rsplit(b",", 4)[0]) + 2
        yield Case(
            f"reading {number} lost", COMMA, put(COMMA, number), "reading-order", f"line {number}, column {column}"
        )
    for number in ROWS[SEMI][1:-1:3]:
        yield Case(f"row {number} lost", SEMI, put(SEMI, number), "position-gap", f"line {number}, column 1")


def doubled_lines() -> Iterator[Case]:
    for layout in (COMMA, SEMI):
        for number in HEAD[layout]:
            line = lines_of(layout)[number - 1]
            if line:
                yield Case(
                    f"{layout} line {number} twice",
                    layout,
                    put(layout, number, line, line),
                    "line-repeated",
                    f"line {number + 1}",
                )
    for number in (5, 6, 7, 8, 9):
        line = lines_of(PAGE)[number - 1]
        code = "cut-off" if number == 5 else "line-repeated"
        yield Case(f"series line {number} twice", PAGE, put(PAGE, number, line, line), code, f"line {number + 1}")
    for number in ROWS[COMMA][::10]:
        line = lines_of(COMMA)[number - 1]
        column = len(line.rsplit(b",", 4)[0]) + 2
        yield Case(
            f"reading {number} twice",
            COMMA,
            put(COMMA, number, line, line),
            "reading-order",
            f"line {number + 1}, column {column}",
        )
    for number in ROWS[SEMI][::3]:
        line = lines_of(SEMI)[number - 1]
        yield Case(
            f"row {number} twice", SEMI, put(SEMI, number, line, line), "position-gap", f"line {number + 1}, column 1"
        )


def headers() -> Iterator[Case]:
    """Columns renamed, gone, new, changed in order, or twice."""
    for layout in (COMMA, SEMI):
        names, number = COLUMNS[layout], HEADER[layout]
        separator = "," if layout == COMMA else ";"
        place = f"line {number}"

        def made(cells: list[str], layout: str = layout, number: int = number, separator: str = separator) -> bytes:
            return put(layout, number, separator.join(cells).encode())

        for at, name in enumerate(names):
            before, after = list(names[:at]), list(names[at + 1 :])
            yield Case(f"{layout} {name} renamed", layout, made([*before, f"{name}x", *after]), "header-differs", place)
            if name not in ("2nd", "3rd"):  # those may be absent: then every row is one cell too long
                yield Case(f"{layout} {name} gone", layout, made([*before, *after]), "header-differs", place)
            yield Case(
                f"{layout} new before {name}", layout, made([*before, "New", name, *after]), "header-differs", place
            )
            if after:
                swapped = [*before, after[0], name, *after[1:]]
                yield Case(f"{layout} {name} swapped", layout, made(swapped), "header-differs", place)
            yield Case(f"{layout} {name} twice", layout, made([*before, name, name, *after]), "header-differs", place)
    yield Case("units in another unit", PAGE, put(PAGE, 12, b" " * 37 + b"mg/L"), "units-differ", "line 12")
    yield Case("units gone", PAGE, put(PAGE, 12), "units-differ", "line 12")
