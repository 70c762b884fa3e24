"""Faults inside lines: cells, numbers, times, names, words, counts, pages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.ingest.malformed import (
    CODE_PAGE,
    COMMA,
    PAGE,
    ROWS,
    SEMI,
    Case,
    cell,
    fixed,
    good,
    lines_of,
    put,
)

if TYPE_CHECKING:
    from collections.abc import Iterator


def cells_wrong() -> Iterator[Case]:
    """Rows that cannot be cut as the header says; cells changed about."""
    for layout, separator in ((COMMA, b","), (SEMI, b";")):
        for number in ROWS[layout][::25]:
            line = lines_of(layout)[number - 1]
            place = f"line {number}"
            yield Case(
                f"{layout} {number} a cell more", layout, put(layout, number, line + separator), "row-unfit", place
            )
            less = line.rsplit(separator, 1)[0]
            yield Case(f"{layout} {number} a cell less", layout, put(layout, number, less), "row-unfit", place)
            yield Case(f"{layout} {number} one cell", layout, put(layout, number, b"77"), "row-unfit", place)
    for number in (15, 39, 99):
        cells = lines_of(COMMA)[number - 1].split(b",")
        cells[1], cells[2] = cells[2], cells[1]
        column = len(cells[0]) + len(cells[1]) + 3
        yield Case(
            f"name and role of {number} changed about",
            COMMA,
            put(COMMA, number, b",".join(cells)),
            "kind-unknown",
            f"line {number}, column {column}",
        )
    for number in (20, 30):
        line = lines_of(PAGE)[number - 1]
        yield Case(
            f"text between the columns of {number}",
            PAGE,
            put(PAGE, number, line[:64] + b"7" + line[65:]),
            "row-unfit",
            f"line {number}",
        )
        yield Case(
            f"text behind the last column of {number}",
            PAGE,
            put(PAGE, number, line.ljust(84) + b"x"),
            "row-unfit",
            f"line {number}",
        )


DATES = {
    COMMA: (12, 6, ("2026-02-30", "2025-02-29", "2026-13-01", "2026-00-10", "2026-01-00", "0000-01-01", "02-03-2026",
                    "2026/03/02", "26-03-02", "20260302", "2026-04-31", "\uff12\uff10\uff12\uff16-03-02")),
    SEMI: (4, 4, ("30.02.2026", "29.02.2025", "01.13.2026", "00.01.2026", "32.01.2026", "2026-03-02",
                  "02.03.26", "02/03/2026", "31.04.2026", "01.00.2026", "01.01.0000")),
    PAGE: (9, 10, ("30-02-2026", "29-02-2025", "01-13-2026", "00-01-2026", "2026-03-02", "02.03.2026", "31-06-2026")),
}  # fmt: skip
TIMES = ("24:00:00", "12:60:00", "12:00:60", "914:05", "12-00-00", "25:00:00", "noon", "12:00")


def dates() -> Iterator[Case]:
    for layout, (number, at, texts) in DATES.items():
        line = lines_of(layout)[number - 1].decode(CODE_PAGE[layout])
        for text in texts:
            data = put(layout, number, (line[:at] + text + line[at + 10 :]).encode(CODE_PAGE[layout]))
            yield Case(f"{layout} day {text!a}", layout, data, "date-unreadable", f"line {number}, column {at + 1}")


def times() -> Iterator[Case]:
    for text in TIMES:
        begun = put(COMMA, 12, b"Begun,2026-03-02 " + text.encode())
        yield Case(f"began at {text}", COMMA, begun, "time-unreadable", "line 12, column 18")
        data, place = cell(COMMA, 50, 8, text)
        yield Case(f"read at {text}", COMMA, data, "time-unreadable", place)
        start = put(SEMI, 12, b"Start;" + text.replace(":", ".").encode() + (b"x" if text[2:3] == "-" else b""))
        yield Case(f"section began at {text}", SEMI, start, "time-unreadable", "line 12, column 7")
    for number in (18, 44, 80, 125):
        data, place = cell(COMMA, number, 8, "09:14:56" if number > 18 else "09:14:57")
        yield Case(f"time goes back at {number}", COMMA, data, "time-backwards", place)


NUMBERS = (
    "NaN",
    "nan",
    "Inf",
    "-inf",
    "1e999",
    "1E400",
    "1_000",
    "0x10",
    "1.2.3",
    "1 000",
    "--1",
    "+-1",
    "1e",
    "e5",
    "-",
    "+",
    "n.a.",
    "****",
    "\u0663",
    "\uff11",
    "0." + "1" * 64,
    "1/2",
    "0.1A",
    "\u00bd",
    "#REF!",
    "above top",
    "ABOVE-TOP",
    "<0.01",
    ">2",
    "0.1%",
    "1e+",
    "1e5.2",
    "True",
    "=1+1",
    ".",
    "-.",
    "1..2",
    "0.1-",
    "(0.1)",
    "\u22120.1x",
    "1e-999",
)


def numbers() -> Iterator[Case]:
    """What is no number, as a reading, a background, a set concentration and a dilution."""
    for nth, text in enumerate(NUMBERS):
        for index in (6, 7) if nth % 2 else (3, 6):
            data, place = cell(COMMA, 15 + 3 * (nth % 37), index, text)
            yield Case(f"{text!a} as cell {index}", COMMA, data, "number-unreadable", place)
    for text in ("0.32", "0,3,2", "0,1e999", "0,1 A", "n.b.", "0,1x"):
        data, place = cell(SEMI, 20, 6, text)
        yield Case(f"{text!a} with a decimal comma", SEMI, data, "number-unreadable", place)
    data, place = cell(SEMI, 20, 5, "")
    yield Case("a reading lacks before others", SEMI, data, "number-unreadable", place)
    data, place = cell(COMMA, 20, 6, "")
    yield Case("a reading lacks", COMMA, data, "number-unreadable", place)
    data, place = cell(COMMA, 18, 4, "")
    yield Case("a dilution lacks", COMMA, data, "number-unreadable", place)


def numbers_of_prints() -> Iterator[Case]:
    for nth, text in enumerate(("NaN", "1e999", "0,0027", "....", "-", "0x1", "1.2.3", "OVER", "0.00 7", "99999.9.9")):
        number = 13 + 4 * nth
        data, place = fixed(number, 55, 64, text)
        yield Case(f"{text} in a print", PAGE, data, "number-unreadable", place)


def ambiguous() -> Iterator[Case]:
    for text in ("1.234", "12.345", "123.456", "-1.234", "1.234.567"):
        for number, index in ((16, 5), (25, 8), (14, 3)):
            data, place = cell(SEMI, number, index, text)
            yield Case(f"{text} at {number}", SEMI, data, "number-ambiguous", place)
    for text in ("01622", "-01", "+007", "0123e-3"):
        for number, index in ((16, 5), (25, 8), (14, 3)):
            data, place = cell(SEMI, number, index, text)
            yield Case(f"{text} without its mark at {number}", SEMI, data, "number-ambiguous", place)
    for text in ("1,234", "12,345", "00027"):
        data, place = fixed(13, 55, 64, text)
        yield Case(f"{text} in a print", PAGE, data, "number-ambiguous", place)


def signs() -> Iterator[Case]:
    for text in ("-1", "0", "0.5", "-0.5", "0.999", "-10", "0.0"):
        data, place = cell(COMMA, 45, 4, text)
        yield Case(f"dilution {text}", COMMA, data, "dilution-below-one", place)
    for text in ("10000000000", "1000001", "1000000.5", "1e7"):
        data, place = cell(COMMA, 45, 4, text)
        yield Case(f"dilution {text}", COMMA, data, "dilution-unlikely", place)
    for text in ("-1", "-0.001", "-1e2"):
        data, place = cell(COMMA, 18, 3, text)
        yield Case(f"set to {text}", COMMA, data, "nominal-negative", place)
    data, place = cell(SEMI, 15, 3, "-0,20")
    yield Case("set to -0,20", SEMI, data, "nominal-negative", place)
    for text in ("2", "0", "-1", "x", "1.0", "99999999999999999999", "02", "00"):
        data, place = cell(COMMA, 15, 0, text)
        yield Case(f"begins at position {text}", COMMA, data, "position-gap", place)
        data, place = cell(COMMA, 15, 5, text)
        yield Case(f"begins with reading {text}", COMMA, data, "reading-order", place)


DAMAGED = (
    "1E+05",
    "1.2E+05",
    "1,2E-03",
    "05-Mar",
    "5. Mrz",
    "Mar-05",
    "1-Dez",
    "#NAME?",
    "#####",
    "#REF!",
    "12-Oct-2026",
)


def labels() -> Iterator[Case]:
    for text in DAMAGED:
        data, place = cell(SEMI, 27, 1, text)
        yield Case(f"named {text}", SEMI, data, "label-damaged", place)
    for layout, number in ((SEMI, 27), (COMMA, 45)):
        data, place = cell(layout, number, 1, "")
        yield Case(f"{layout} without a name", layout, data, "label-missing", place)
    for text in ("n" * 65, "n" * 4000):
        data, place = cell(SEMI, 27, 1, text)
        yield Case(f"a name of {len(text)} signs", SEMI, data, "label-too-long", place)


def words() -> Iterator[Case]:
    """Facts in words the layout does not know, at the place the word stands."""
    for number in (8, 9, 10, 11):
        name = lines_of(COMMA)[number - 1].split(b",")[0]
        for text in ("gas", "ABSORBANCE", "1", "tubee"):
            place = f"line {number}, column {len(name) + 2}"
            yield Case(
                f"{name.decode()} is {text}",
                COMMA,
                put(COMMA, number, name + b"," + text.encode()),
                "word-unknown",
                place,
            )
    for number, line in ((9, b"Way;gas"), (10, b"Shown;height;A"), (11, b"Correction;none")):
        place = f"line {number}, column {line.index(b';') + 2}"
        yield Case(f"sections: {line.decode()}", SEMI, put(SEMI, number, line), "word-unknown", place)
    yield Case("a unit nobody knows", SEMI, put(SEMI, 10, b"Shown;absorbance;mA"), "word-unknown", "line 10, column 18")
    long = b"Method," + b"m" * 300
    yield Case("a method of 300 signs", COMMA, put(COMMA, 5, long), "fact-unreadable", "line 5, column 8")
    yield Case(
        "a slit of two points",
        COMMA,
        put(COMMA, 12, b"Slit in nm,0.7.0", lines_of(COMMA)[11]),
        "number-unreadable",
        "line 12, column 12",
    )
    yield Case(
        "a line of two points", COMMA, put(COMMA, 7, b"Line in nm,2.8.3"), "number-unreadable", "line 7, column 12"
    )


def elements() -> Iterator[Case]:
    """The wrong element at a section's end, or what is none."""
    for text in ("Mg", "Cu", "Pb", "Z"):
        yield Case(f"ends with {text}", SEMI, put(SEMI, 36, f"#End;{text};22".encode()), "cut-off", "line 36, column 6")
    for text in ("PB", "pb", "lead", "", "82", "P b"):
        yield Case(f"element {text!r}", COMMA, put(COMMA, 6, f"Element,{text}".encode()), "line-unread", "line 6")


def counts() -> Iterator[Case]:
    for text in ("110", "112", "0", "1", "999999", "0110"):
        yield Case(
            f"{text} readings",
            COMMA,
            put(COMMA, 126, f"End of readings,{text}".encode()),
            "count-differs",
            "line 126, column 17",
        )
    for text in ("21", "23", "0"):
        yield Case(
            f"{text} solutions", SEMI, put(SEMI, 36, f"#End;Zn;{text}".encode()), "count-differs", "line 36, column 9"
        )
    last = len(lines_of(SEMI)) - 1
    for text in ("1", "3", "0"):
        yield Case(
            f"{text} sections",
            SEMI,
            put(SEMI, last, f"#Log closed;{text}".encode()),
            "count-differs",
            f"line {last}, column 13",
        )


def noise() -> Iterator[Case]:
    """Lines that have no place, in head, between, and behind the end."""
    for text in (b"total,111", b"<html>", b"Page 2", b"----------", b"Tern reading list,4", b"#"):
        for number in (2, 7, 12):
            yield Case(
                f"{text.decode()} before {number}",
                COMMA,
                put(COMMA, number, text, lines_of(COMMA)[number - 1]),
                "line-unread",
                f"line {number}",
            )
        behind = len(lines_of(COMMA))
        yield Case(f"{text.decode()} behind the end", COMMA, good(COMMA) + text, "line-unread", f"line {behind}")
    yield Case("a second list behind the first", COMMA, good(COMMA) * 2, "line-unread", f"line {len(lines_of(COMMA))}")
    for number in (9, 12, 37):
        yield Case(
            f"sections: noise before {number}",
            SEMI,
            put(SEMI, number, b"noise", lines_of(SEMI)[number - 1]),
            "line-unread",
            f"line {number}",
        )


def long_lines() -> Iterator[Case]:
    for layout, number in ((COMMA, 3), (COMMA, 60), (SEMI, 20), (PAGE, 30)):
        for length in (4097, 100_000):
            yield Case(
                f"{layout} {number} of {length} signs",
                layout,
                put(layout, number, b"x" * length),
                "line-too-long",
                f"line {number}",
            )
    yield Case("a million lines and more", COMMA, b"a\n" * 1_000_001, "file-too-large")


def pages() -> Iterator[Case]:
    """Captured prints: pages lost, doubled, of another print; breaks where none are."""
    for number in (16, 40, 80):
        line = lines_of(COMMA)[number - 1]
        yield Case(
            f"a page break before row {number}", COMMA, put(COMMA, number, b"\f" + line), "page-break", f"line {number}"
        )
        yield Case(
            f"a page break inside row {number}",
            COMMA,
            put(COMMA, number, line[:4] + b"\f" + line[4:]),
            "page-break",
            f"line {number}",
        )
    first = lines_of(PAGE)[0]
    for text in (b"2", b"0", b"7"):
        changed = first.replace(b"sheet  1", b"sheet  " + text)
        yield Case(
            f"begins with sheet {text.decode()}",
            PAGE,
            put(PAGE, 1, changed),
            "page-missing",
            f"line 1, column {changed.index(b'sheet  ') + 8}",
        )
    for number, line in ((1, b"OTHER PRINT"), (2, b"apparatus"), (3, b"-----")):
        yield Case(f"heading line {number} is another", PAGE, put(PAGE, number, line), "page-heading", f"line {number}")
    heading = next(nth for nth, line in enumerate(lines_of(PAGE), 1) if line.startswith(b"\f"))
    yield Case(
        "the second page without its heading", PAGE, put(PAGE, heading, b"\f"), "page-heading", f"line {heading + 1}"
    )
    other = lines_of(PAGE)[heading].replace(b"TQ-V-0128", b"TQ-V-0999")
    yield Case(
        "a page of another instrument",
        PAGE,
        put(PAGE, heading + 1, other),
        "fact-contradicts",
        f"line {heading + 1}, column 11",
    )
    yield Case(
        "a repeated header changed", PAGE, put(PAGE, heading + 4, b"tube  name"), "page-heading", f"line {heading + 4}"
    )


def kinds() -> Iterator[Case]:
    for text in ("", "blank", "STANDARD", "sample?", "Zero"):
        data, place = cell(COMMA, 48, 2, text)
        yield Case(f"role {text!r}", COMMA, data, "kind-unknown", place)
    for text in ("", "z", "SS", "X"):
        data, place = cell(SEMI, 22, 2, text)
        yield Case(f"sort {text!r}", SEMI, data, "kind-unknown", place)
    for number, index, text in ((16, 1, "S9"), (17, 2, "check"), (20, 3, "7"), (23, 4, "2")):
        yield Case(f"another solution in row {number}", COMMA, cell(COMMA, number, index, text)[0], "row-differs",
                   f"line {number}")  # fmt: skip
