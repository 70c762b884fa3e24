"""Any run written in any of the three forms reads back as itself, digit for digit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from hypothesis import given
from hypothesis import strategies as st

from benchseal.ingest.reader import read_file
from benchseal.records.run import DocumentRef, RunDocument

if TYPE_CHECKING:
    from benchseal.records.layout import Layout

Layouts = dict[str, tuple[DocumentRef, "Layout"]]
_KINDS = {  # kind to its code in each of the three forms
    "calibration_blank": ("zero", "Z", "cal0"),
    "standard": ("standard", "S", "cal"),
    "check_standard": ("check", "C", "chk"),
    "sample": ("sample", "P", "smp"),
    "spiked_sample": ("with addition", "P+", "smp+"),
}
_FLAGS = {"above-top": "over_range", "no-value": "missing"}
_LABELS = st.text("ABCabc0123-/+ ", min_size=1, max_size=18).filter(lambda text: text == text.strip())
_SIGNALS = st.decimals(-1, 3, places=4).map(lambda value: f"{value:.4f}".replace("-0.0000", "0.0000"))
_NOMINALS = st.decimals(0, 99, places=2).map(str) | st.just("")


@dataclass(frozen=True)
class _Tube:
    label: str
    kind: str
    nominal: str
    dilution: str
    readings: tuple[str, ...]


def _tubes(count: int) -> st.SearchStrategy[list[_Tube]]:
    readings = st.tuples(*[_SIGNALS | st.sampled_from(sorted(_FLAGS))] * count)
    dilutions = st.sampled_from(["1", "2", "10", "2.5"])
    return st.lists(
        st.builds(_Tube, _LABELS, st.sampled_from(sorted(_KINDS)), _NOMINALS, dilutions, readings),
        min_size=1,
        max_size=12,
    )


_TUBES = st.integers(1, 5).flatmap(_tubes)
_START = datetime(2026, 3, 2, 23, 50, 0)  # noqa: DTZ001  local time of an instrument; runs past midnight


def _clocks(tubes: list[_Tube]) -> list[str]:
    count = sum(len(tube.readings) for tube in tubes)
    return [(_START + timedelta(seconds=53 * nth)).isoformat() for nth in range(1, count + 1)]


def _comma(tubes: list[_Tube]) -> bytes:
    rows, clocks = [], iter(_clocks(tubes))
    for position, tube in enumerate(tubes, 1):
        code = _KINDS[tube.kind][0]
        for nth, signal in enumerate(tube.readings, 1):
            start = f"{position},{tube.label},{code},{tube.nominal},{tube.dilution},{nth}"
            rows.append(f"{start},{signal},0.050,{next(clocks)[11:]}")
    head = (
        "Tern reading list,3\nInstrument number,TQ-1\nRead by,\nMethod,M\nElement,Pb\nLine in nm,283.3\n"
        "Atomised by,tube\nQuantity,absorbance\nUnit,A s\nBackground taken off,by lamp\nBegun,2026-03-02 23:50:00\n\n"
        "Place,Name,Role,Given,Thinned,Reading,Signal,Ground,Time\n"
    )
    return (head + "\n".join(rows) + f"\nEnd of readings,{len(rows)}\nList closed\n").encode()


def _semicolon(tubes: list[_Tube]) -> bytes:
    count = len(tubes[0].readings)
    names = ("1st", "2nd", "3rd", "4th", "5th")[:count]
    lines = ["Bench log · form B", "Apparatus;TQ-1", "Worker;", "Day;02.03.2026", "#Element;Pb;283,3 nm", "Procedure;M"]
    lines += ["Way;tube", "Shown;absorbance;A s", "Correction;lamp", "Start;23.50.00"]
    lines.append(";".join(("No.", "Tube", "Sort", "Set to", "Thinned", *names, "Mean")))
    for position, tube in enumerate(tubes, 1):
        numbers = ";".join((tube.nominal, tube.dilution, *tube.readings, "")).replace(".", ",")
        lines.append(f"{position};{tube.label};{_KINDS[tube.kind][1]};{numbers}")
    lines += [f"#End;Pb;{len(tubes)}", "#Log closed;1", ""]
    return "\r\n".join(lines).encode("windows-1252")


def _print(tubes: list[_Tube], page: int = 20) -> bytes:
    def row(*cells: str) -> str:
        widths = (">4", "<18", "<6", ">9", ">6", ">4", ">10", ">7", ">8")
        first, second, *others = (f"{cell:{width}}" for cell, width in zip(cells, widths, strict=True))
        return f"{first}  {second} {' '.join(others)}".rstrip()

    header = [row("tube", "name", "sort", "set at", "thin", "no", "value", "ground", "at"), " " * 37 + "µg/L"]
    body, clocks = [], iter(_clocks(tubes))
    for position, tube in enumerate(tubes, 1):
        first = (str(position), tube.label, _KINDS[tube.kind][2], tube.nominal, tube.dilution)
        for nth, signal in enumerate(tube.readings, 1):
            names = first if nth == 1 else ("",) * 5
            body.append(row(*names, str(nth), signal, "0.050", next(clocks)[11:]))
    pages = [body[at : at + page] for at in range(0, len(body), page)]
    series = ["series    M", "element   Pb    line 283.3 nm", "way       tube    shown absorbance    in A s"]
    series += ["ground    taken off by lamp", "began     02-03-2026 23:50:00"]
    text = []
    for nth, rows in enumerate(pages, 1):
        heading = [f"KITTIWAKE PAGE PRINT     sheet {nth:>2} of {len(pages):>2}", "apparatus TQ-1   worker x", "====="]
        text.append("\r\n".join([*heading, *(series if nth == 1 else []), *header, *rows, ""]))
    end = f"end of series   {len(tubes)} tubes\r\nend of print   {len(pages)} sheets\r\n"
    return ("\f".join(text) + end).encode("cp850")


def _check(data: bytes, name: str, tubes: list[_Tube], layouts: Layouts) -> RunDocument:
    ref, layout = layouts[name]
    found = read_file(data, "x", layout, ref)
    run = found[0]
    assert isinstance(run, RunDocument), [str(item) for item in found]
    flat = [signal for tube in tubes for signal in tube.readings]
    assert run.solutions.label == tuple(tube.label for tube in tubes)
    assert run.solutions.kind == tuple(tube.kind for tube in tubes)
    assert run.solutions.nominal == tuple(tube.nominal for tube in tubes)
    assert run.solutions.dilution == tuple(tube.dilution for tube in tubes)
    assert run.solutions.reading_count == tuple(len(tube.readings) for tube in tubes)
    assert run.readings.signal == tuple("" if signal in _FLAGS else signal for signal in flat)
    assert run.readings.flag == tuple(_FLAGS.get(signal, "") for signal in flat)
    assert run.facts.started_at == "2026-03-02T23:50:00"
    return run


@given(tubes=_TUBES)
def test_comma_list(tubes: list[_Tube], layouts: Layouts) -> None:
    run = _check(_comma(tubes), "comma-list", tubes, layouts)
    assert run.readings.taken_at == tuple(_clocks(tubes)), "past midnight is the next day"


@given(tubes=_TUBES)
def test_semicolon_sections(tubes: list[_Tube], layouts: Layouts) -> None:
    _check(_semicolon(tubes), "semicolon-sections", tubes, layouts)


@given(tubes=_TUBES)
def test_page_print(tubes: list[_Tube], layouts: Layouts) -> None:
    run = _check(_print(tubes), "page-print", tubes, layouts)
    assert run.readings.taken_at == tuple(_clocks(tubes))
