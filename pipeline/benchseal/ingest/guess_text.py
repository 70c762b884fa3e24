"""Guesses about bytes and texts of a file nobody has described: code page, printer codes, forms of dates and times."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from benchseal.documents.signs import unfit_in_text
from benchseal.documents.times import MONTHS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.layout import Encoding


@dataclass(frozen=True, slots=True)
class Guess:
    """A guess and why. sure: nothing in the file speaks for another one."""

    value: str
    sure: bool
    why: str


_PAGES = (("windows-1252", "cp1252"), ("cp850", "cp850"), ("cp437", "cp437"), ("iso-8859-15", "iso8859-15"))
_EXPECTED = set("äöüÄÖÜßµ°²³±éèáñ·ø\N{EN DASH}") | {chr(code) for code in range(0x2500, 0x2580)}  # drawn lines too
WORD = "[A-Za-zÄÖÜäöüß]"
_LETTERS = r"[A-Za-z]{3}"
_DATES: tuple[tuple[str, str], ...] = (
    ("YYYY-MM-DD", r"\d{4}-\d{2}-\d{2}"),
    ("YYYY/MM/DD", r"\d{4}/\d{2}/\d{2}"),
    ("YYYY.MM.DD", r"\d{4}\.\d{2}\.\d{2}"),
    ("DD.MM.YYYY", r"\d{1,2}\.\d{1,2}\.\d{4}"),
    ("DD.MM.YY", r"\d{1,2}\.\d{1,2}\.\d{2}"),
    ("DD MMM YYYY", rf"\d{{1,2}} {_LETTERS} \d{{4}}"),
    ("DD-MMM-YYYY", rf"\d{{1,2}}-{_LETTERS}-\d{{4}}"),
    ("DD-MMM-YY", rf"\d{{1,2}}-{_LETTERS}-\d{{2}}"),
    ("DD/MM/YYYY", r"\d{1,2}/\d{1,2}/\d{4}"),
    ("DD/MM/YY", r"\d{1,2}/\d{1,2}/\d{2}"),
    ("DD-MM-YYYY", r"\d{1,2}-\d{1,2}-\d{4}"),
    ("DD MM YYYY", r"\d{1,2} \d{1,2} \d{4}"),
)
_TIMES: tuple[tuple[str, str], ...] = (
    ("hh:mm:ss AP", r"\d{1,2}:\d{2}:\d{2} [AaPp]\.?[Mm]\.?"),
    ("hh:mm AP", r"\d{1,2}:\d{2} [AaPp]\.?[Mm]\.?"),
    ("HH:mm:ss", r"\d{1,2}:\d{2}:\d{2}"),
    ("HH:mm", r"\d{1,2}:\d{2}"),
    ("HH.mm.ss", r"\d{1,2}\.\d{2}\.\d{2}"),
)


def guess_encoding(data: bytes) -> Guess:
    """The code page of a file."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return Guess("utf-16", sure=True, why="it begins with the mark of UTF-16")
    half = max(1, len(data) // 4)
    for name, zeros in (("utf-16-le", data[1::2]), ("utf-16-be", data[::2])):
        if len(data) > 1 and zeros.count(0) > half:
            return Guess(name, sure=True, why="every other byte is zero, and no mark stands before them")
    if data.isascii():
        return Guess("ascii", sure=True, why="no byte is above 7f; a later file with another sign is refused")
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return _code_page(data)
    return Guess("utf-8", sure=True, why="signs of several bytes fit UTF-8")


def _code_page(data: bytes) -> Guess:
    high = bytes(sorted({byte for byte in data if byte >= 0x80}))
    shown = {name: high.decode(codec, "replace") for name, codec in _PAGES}
    name = max(shown, key=lambda each: sum(sign in _EXPECTED for sign in shown[each]))
    told = "; ".join(
        f"{each}: {''.join(s if s.isprintable() else '?' for s in text[:20])}" for each, text in shown.items()
    )
    return Guess(name, sure=False, why=f"bytes {high[:10].hex(' ')} would be, in {told}")


_CODES = re.compile(rb"\x1b(?:\[[0-9;]+[@-~]|[!-/][`-z][+-]?[0-9]+[@-Z]|[@-~])?|[\x00-\x08\x0b\x0e-\x1a\x1c-\x1f\x7f]")


def guess_printer_codes(data: bytes, encoding: str) -> tuple[str, ...]:
    """Byte sequences that begin with a control sign: escape codes with what belongs to them, others alone.

    Of longer escape codes those with figures between: ESC [ 0 m (ECMA-48), and ESC & l 0 O of printers (from memory).
    """
    if encoding.startswith("utf-16"):
        return ()
    codes = {found[0].hex() for found in _CODES.finditer(data)}
    return tuple(sorted(codes))[:16]


def guess_forms(texts: list[str]) -> tuple[Guess, Guess]:
    """The forms of dates and times in these lines."""
    text = "\n".join(texts)
    return _date_form(text), _time_form(text)


def _date_form(text: str) -> Guess:
    for form, pattern in _DATES:
        found = re.findall(rf"(?<![\d.:/-]){pattern}(?![\d/:-])", text)
        if "MMM" in form:
            found = [one for one in found if re.sub("[^a-z]", "", one.lower()) in MONTHS]
        if not found:
            continue
        if not form.startswith(("DD/MM/", "DD-MM-", "DD MM ")):
            return Guess(form, sure=True, why=f"as '{found[0]}'")
        parts = [[int(part) for part in re.split("[ /-]", one)] for one in found]
        if any(one[1] > 12 for one in parts):
            return Guess(
                form.replace("DD", "##").replace("MM", "DD").replace("##", "MM"),
                sure=True,
                why=f"a day above 12, as in '{found[0]}'",
            )
        if any(one[0] > 12 for one in parts):
            return Guess(form, sure=True, why="a day above 12 stands first")
        return Guess(form, sure=False, why=f"'{found[0]}': day or month may stand first")
    return Guess("YYYY-MM-DD", sure=False, why="no date was found")


def _time_form(text: str) -> Guess:
    for form, pattern in _TIMES:
        found = re.search(rf"(?<![\d.:]){pattern}(?![\d:])", text)
        if found:
            return Guess(form, sure=True, why=f"as '{found[0]}'")
    return Guess("HH:mm:ss", sure=False, why="no time of day was found")


def date_pattern(form: str) -> str:
    """The pattern of dates in a form of ``guess_forms``."""
    known = dict(_DATES)
    return known.get(form) or known[form.replace("MM", "##").replace("DD", "MM").replace("##", "DD")]


def time_pattern(form: str) -> str:
    """The pattern of times in a form of ``guess_forms``."""
    return dict(_TIMES)[form]


def as_encoding(text: str) -> Encoding:
    """The word as the layout's type."""
    return cast("Encoding", text)


def exactly(text: str) -> str:
    """A pattern for this text; runs of blanks may be of any length."""
    return re.sub(r"(?:\\? )+", " +", "".join(_escaped(text)))


def _escaped(text: str) -> Iterator[str]:
    for sign in text:
        if sign == "\t":
            yield r"\t"
        elif unfit_in_text(sign):
            yield f"\\x{{{ord(sign):X}}}"  # no document may hold it
        else:
            yield f"\\{sign}" if sign in r"\.+*?()[]{}^$|" else sign


def loosely(text: str) -> str:
    """A pattern for lines like this one: its figures may differ."""
    return re.sub(r"(\\x\{[0-9A-F]+\})|[0-9]+", lambda found: found[1] or "[0-9]+", exactly(text))


def words_of(line: str) -> list[str]:
    """A line cut into words, blanks and signs."""
    return re.findall(r"\w+|\s+|[^\w\s]+", line.strip())


def alike(lines: Sequence[str]) -> str:
    """A pattern for lines that have the same words but for some of them."""
    words = [words_of(line) for line in lines]
    if len({len(each) for each in words}) != 1:
        return loosely(lines[0].rstrip()) + r"\s*"
    return r"\s*" + "".join(one_of(together) for together in zip(*words, strict=True)) + r"\s*"


def one_of(words: tuple[str, ...]) -> str:
    """A pattern for each of these words, of which one stands at one place of lines that are alike."""
    if len({loosely(word) for word in words}) == 1:
        return loosely(words[0])
    of_one = (WORD + "+", "[0-9]+", "[A-Za-z0-9ÄÖÜäöüß]+")
    return next((pattern for pattern in of_one if all(re.fullmatch(pattern, word) for word in words)), r"\S+")
