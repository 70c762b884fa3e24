"""Three invented file shapes, as the starter layouts read them: comma list, semicolon sections, page print."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from benchseal.demo.series import Read, Seen, Series

_TECHNIQUE = {"flame": "flame", "furnace": "tube", "cold_vapour": "cold cell", "hydride": "hot cell"}
_SHOWN = {"absorbance": "absorbance", "instrument_concentration": "concentration"}
_UNIT = {"A": "A", "A.s": "A s", "mg/L": "mg/L", "ug/L": "µg/L"}

_COMMA_ROLE = {
    "calibration_blank": "zero", "standard": "standard", "second_source": "other source", "check_standard": "check",
    "check_blank": "check zero", "method_blank": "method blank", "control_sample": "control",
    "reference_material": "reference", "sample": "sample", "duplicate": "second portion",
    "spiked_sample": "with addition", "rinse": "rinse",
}  # fmt: skip
_COMMA_BACKGROUND = {"none": "no", "deuterium": "by lamp", "zeeman": "by field"}


def comma_list(series: Series) -> bytes:
    """One run, a row for each reading, under a head of facts; UTF-8."""
    method = series.method
    head = [
        "Tern reading list,3",
        "Bench,east window",
        f"Instrument number,{series.serial}",
        f"Read by,{series.operator}",
        f"Method,{method.file_names[0]}",
        f"Element,{method.element}",
        f"Line in nm,{method.wavelength_nm}",
        f"Atomised by,{_TECHNIQUE[method.technique]}",
        f"Quantity,{_SHOWN[series.signal_is]}",
        f"Unit,{_UNIT[series.signal_unit or method.signal_unit]}",
        f"Background taken off,{_COMMA_BACKGROUND[method.background_correction]}",
        f"Begun,{series.started:%Y-%m-%d %H:%M:%S}",
        "",
        "Place,Name,Role,Given,Thinned,Reading,Signal,Ground,Time",
    ]
    rows = [
        f"{place},{seen.presented.label},{_COMMA_ROLE[seen.presented.kind]},{seen.presented.nominal},"
        f"{seen.presented.dilution},{count},{read.signal},{read.background},{read.at:%H:%M:%S}"
        for place, seen in enumerate(series.solutions, 1)
        for count, read in enumerate(seen.readings, 1)
    ]
    return _joined([*head, *rows, f"End of readings,{len(rows)}", "List closed"], "\n", "utf-8")


_SECTION_SORT = {
    "calibration_blank": "Z", "standard": "S", "second_source": "S2", "check_standard": "C", "check_blank": "CZ",
    "method_blank": "MB", "control_sample": "CS", "reference_material": "RM", "sample": "P", "duplicate": "PP",
    "spiked_sample": "P+", "rinse": "R",
}  # fmt: skip
_SECTION_CORRECTION = {"none": "off", "deuterium": "lamp", "zeeman": "field"}
_NTH = ("1st", "2nd", "3rd", "4th", "5th")


def semicolon_sections(series: Sequence[Series], room: str = "21,4") -> bytes:
    """One section a run, decimal commas, the readings of a solution in one row; windows-1252."""
    first = series[0]
    head = [
        "Bench log · form B",
        f"Apparatus;{first.serial}",
        f"Worker;{first.operator}",
        f"Day;{first.started:%d.%m.%Y}",
        f"Room;{room} °C",
    ]
    sections = [line for one in series for line in ("", *_section(one))]
    return _joined([*head, *sections, f"#Log closed;{len(series)}"], "\r\n", "windows-1252")


def _section(series: Series) -> list[str]:
    method = series.method
    columns = ("No.", "Tube", "Sort", "Set to", "Thinned", *_NTH[: method.replicates.count], "Mean")
    return [
        f"#Element;{method.element};{_comma(method.wavelength_nm)} nm",
        f"Procedure;{method.file_names[0]}",
        f"Way;{_TECHNIQUE[method.technique]}",
        f"Shown;{_SHOWN[series.signal_is]};{_UNIT[series.signal_unit or method.signal_unit]}",
        f"Correction;{_SECTION_CORRECTION[method.background_correction]}",
        f"Start;{series.started:%H.%M.%S}",
        ";".join(columns),
        *(_section_row(place, seen) for place, seen in enumerate(series.solutions, 1)),
        f"#End;{method.element};{len(series.solutions)}",
    ]


def _section_row(place: int, seen: Seen) -> str:
    presented = seen.presented
    signals = [_comma(read.signal) for read in seen.readings]
    cells = [str(place), presented.label, _SECTION_SORT[presented.kind], _comma(presented.nominal)]
    return ";".join([*cells, _comma(presented.dilution), *signals, _comma(seen.mean)])


def _comma(text: str) -> str:
    return text.replace(".", ",")


_PAGE_SORT = {
    "calibration_blank": "cal0", "standard": "cal", "second_source": "cal-b", "check_standard": "chk",
    "check_blank": "chk0", "method_blank": "prep0", "control_sample": "contrl", "reference_material": "refmat",
    "sample": "smp", "duplicate": "smp-b", "spiked_sample": "smp+", "rinse": "rinse",
}  # fmt: skip
_PAGE_GROUND = {"none": "not taken off", "deuterium": "taken off by lamp", "zeeman": "taken off by field"}
_PAGE_LINES = 58
_WIDE = 81
_TABLE_HEAD = (
    "tube  name               sort      set at   thin   no      value  ground       at",
    " " * 37 + "µg/L",
)


def page_print(series: Series) -> bytes:
    """One run as a captured print: fixed places, pages, a mean row after each solution; code page 850."""
    method = series.method
    unit = _UNIT[series.signal_unit or method.signal_unit]
    lead = [
        "",
        f"series    {method.file_names[0]}",
        f"element   {method.element:<5} line {method.wavelength_nm} nm",
        f"way       {_TECHNIQUE[method.technique]:<12} shown {_SHOWN[series.signal_is]:<13} in {unit}",
        f"ground    {_PAGE_GROUND[method.background_correction]}",
        f"began     {series.started:%d-%m-%Y %H:%M:%S}",
        "",
        *_TABLE_HEAD,
    ]
    rows = [row for place, seen in enumerate(series.solutions, 1) for row in _page_rows(place, seen)]
    pages = _pages(lead, rows)
    printed = [
        line for number, page in enumerate(pages, 1) for line in (*_page_head(series, number, len(pages)), *page)
    ]
    closing = ["", f"end of series   {len(series.solutions)} tubes", f"end of print    {len(pages)} sheets"]
    return _joined([*printed, *closing], "\r\n", "cp850")


def _pages(lead: list[str], rows: list[str]) -> list[list[str]]:
    """Rows cut into pages; every page after the first shows the table's head again."""
    room = _PAGE_LINES - len(lead)
    pages = [[*lead, *rows[:room]]]
    rest = rows[room:]
    again = ["", *_TABLE_HEAD]
    while rest:
        pages.append([*again, *rest[: _PAGE_LINES - len(again)]])
        rest = rest[_PAGE_LINES - len(again) :]
    return pages


def _page_head(series: Series, number: int, of: int) -> list[str]:
    title = "KITTIWAKE PAGE PRINT"
    sheet = f"sheet {number:>2} of {of:>2}"
    feed = "" if number == 1 else "\f"
    return [
        f"{feed}{title}{sheet:>{_WIDE - len(title)}}",
        f"apparatus {series.serial:<12} worker {series.operator}",
        "=" * _WIDE,
    ]


def _page_rows(place: int, seen: Seen) -> list[str]:
    presented = seen.presented
    name = f"{place:>4}  {presented.label:<18} {_PAGE_SORT[presented.kind]:<6} {presented.nominal:>9} "
    name += f"{presented.dilution:>6}"
    rows = [
        f"{name if count == 1 else '':<48} {count:>4} {read.signal:>10} {read.background:>7} {_clock(read)}"
        for count, read in enumerate(seen.readings, 1)
    ]
    return [*rows, f"{'':<48} mean {seen.mean:>10}"]


def _clock(read: Read) -> str:
    at: datetime = read.at
    return f"{at:%H:%M:%S}"


def _joined(lines: Sequence[str], end: str, encoding: str) -> bytes:
    return (end.join(lines) + end).encode(encoding)
