"""The seven instrument files of the story, two that are refused, and one written by a clock an hour slow."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from benchseal.demo import batches
from benchseal.demo.bench import Ageing, Measurement, Order, as_concentrations, measured
from benchseal.demo.calendar import at
from benchseal.demo.curves import CHANNELS
from benchseal.demo.draws import Draws
from benchseal.demo.instrument_files import comma_list, page_print, semicolon_sections
from benchseal.demo.registers import SERIALS

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime

    from benchseal.demo.batches import Tube
    from benchseal.demo.series import Series
    from benchseal.records.method import Method


@dataclass(frozen=True, slots=True)
class InstrumentFile:
    """One file as an instrument wrote it. layout, methods: identifiers; batch: the preparation it belongs to.

    ready_at: local time at which it lay in the folder. shows: what to see in it, in words. refused: with what problem
    in words, empty where it is taken in.
    """

    name: str
    content: bytes
    layout: str
    methods: tuple[str, ...]
    batch: str
    ready_at: datetime
    shows: str
    refused: str = ""


@dataclass(frozen=True, slots=True)
class InstrumentFiles:
    """Files that are taken in, in the order they came; files that are refused; the arsenic run by a slow clock."""

    taken: tuple[InstrumentFile, ...]
    refused: tuple[InstrumentFile, ...]
    slow_clock: InstrumentFile


def _first_half(prefix: str) -> tuple[str, ...]:
    return tuple(f"{prefix}-{lot}/{nth}" for pair in ("A1 B1", "A2 B2") for nth in (1, 2) for lot in pair.split())


def _second_half(prefix: str) -> tuple[str, ...]:
    return tuple(f"{prefix}-{lot}/{nth}" for pair in ("A3 B3", "A4 B4") for nth in (1, 2) for lot in pair.split())


# Portions of the two customers alternate. Ten presented solutions lie between two check pairs.
_ASSAY_ORDER = ("Y-MB", "Y-CS1", *_first_half("Y"), "Y-RM1", "Y-RM2", "Y-CS2", *_second_half("Y"))
_TRACE_ORDER = ("T-MB", "T-CS", *_first_half("T"), "T-RM", "T-B2/1 add 1", "T-B2/1 add 2", *_second_half("T"))
# The lost digests again with blank and control, and with the unspiked portion so that the additions can be judged.
_LEAD_AGAIN = ("T-MB", "T-CS", "T-B2/1", *_TRACE_ORDER[10:])
_WARE_ORDER = ("W-MB", "W-CS", "W-C1/1", "W-C1/2", "W-C1/3", "W-C1/4")


def _at_truth(*labels: str) -> dict[str, float]:
    return dict.fromkeys((*labels, *(f"{element}-SB" for element in ("Zn", "Mg", "Pb", "Cd", "As", "Hg"))), 1.0)


def _direct(labels: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    return tuple((label, "1") for label in labels)


# Figures the story names are placed on the curve; all other readings scatter.
_SPIKED = ("T-B2/1", "T-B2/1 add 1", "T-B2/1 add 2")
_ASSAY_AIMS = ("Y-CS1", "Y-CS2", "Y-A1/1", "Y-A1/2", "Y-A3/1", "Y-A3/2")
_ASSAY = Order(_direct(_ASSAY_ORDER), _at_truth(*_ASSAY_AIMS))
_LEAD_FIRST = Order(
    _direct(_TRACE_ORDER[:20]),
    {**_at_truth("T-CS", "T-A1/1", "T-A1/2"), "Pb-CK2": 0.871},
    Ageing(since=10, until=20, share=0.893),
)
_LEAD_SECOND = Order(_direct(_LEAD_AGAIN), _at_truth("T-CS", *_SPIKED))
_CADMIUM = Order(
    (
        *((label, "2" if "add" in label else "1") for label in _TRACE_ORDER),
        ("T-A2/1", "10"),
        ("T-A2/2", "10"),
    ),
    _at_truth("T-CS", "T-A2/1", "T-A2/2", *_SPIKED),
)
_VAPOUR = Order(_direct(_TRACE_ORDER), _at_truth("T-CS", *_SPIKED))
_WARE = Order(_direct(_WARE_ORDER), _at_truth())


@dataclass(frozen=True, slots=True)
class _Bench:
    start: date
    seed: int
    tubes: Mapping[str, Tube]
    methods: Mapping[str, Method]

    def series(self, name: str, order: Order, day: int, clock: str, purpose: str = "") -> Series:
        """One run of method ``name`` on working day ``day``."""
        channel = CHANNELS[name]
        draws = Draws(self.seed, f"{name} {purpose}".strip())
        one = Measurement(self.methods[name], channel, order, self.tubes, draws)
        return measured(one, at(self.start, day, clock), SERIALS[channel.instrument])


def _ended(series: Series) -> datetime:
    return series.solutions[-1].readings[-1].at


def instrument_files(
    start: date, seed: int, tubes: Mapping[str, Tube], methods: Mapping[str, Method]
) -> InstrumentFiles:
    """Every file of the fortnight that begins on or after ``start``."""
    bench = _Bench(start, seed, tubes, methods)
    assay = [bench.series("zinc-flame", _ASSAY, 2, "09:20"), bench.series("magnesium-flame", _ASSAY, 2, "11:10")]
    mercury = bench.series("mercury-cold-vapour", _VAPOUR, 6, "09:10")
    arsenic = bench.series("arsenic-hydride", _VAPOUR, 6, "13:20")
    taken = (
        _assay_file(assay),
        *_furnace_files(bench),
        _vapour_file(
            mercury, "mercury", "a hundredfold range weighted by 1/x; four of the eight lots lie below the lowest level"
        ),
        _vapour_file(arsenic, "arsenic", "a curved calibration of eight levels"),
        _ware_file(bench),
    )
    slow = _vapour_file(_an_hour_slow(arsenic), "arsenic-slow-clock", "the arsenic run by a clock one hour slow")
    return InstrumentFiles(taken, _refused(assay, mercury), slow)


def _assay_file(assay: list[Series]) -> InstrumentFile:
    return InstrumentFile(
        "flame-assay.txt",
        semicolon_sections(assay),
        "semicolon-sections",
        ("zinc-flame", "magnesium-flame"),
        batches.ASSAY,
        _ended(assay[-1]),
        "zinc (quadratic) and magnesium (line) in one file; lot A-3 reads 89.96 % zinc, which rounds to 90.0",
    )


def _furnace_files(bench: _Bench) -> tuple[InstrumentFile, ...]:
    runs = (
        ("lead-first", bench.series("lead-furnace", _LEAD_FIRST, 4, "09:15", "first"),
         "the check standard after sample 20 reads 87.1 % (limit 90 to 110): samples 11 to 20 are lost, 1 to 10 stand"),
        ("lead-second", bench.series("lead-furnace", _LEAD_SECOND, 5, "08:45", "second"),
         "new tube, the same digests: the lost ones again, blank, control and the unspiked portion with them"),
        ("cadmium", bench.series("cadmium-furnace", _CADMIUM, 5, "13:15"),
         "both portions of A-2 over range undiluted, read again at 10: 0.62 and 0.60 ug/g against 0.50"),
    )  # fmt: skip
    return tuple(
        InstrumentFile(
            f"furnace-{name}.txt",
            page_print(series),
            "page-print",
            (series.method.id,),
            batches.TRACE,
            _ended(series),
            shows,
        )
        for name, series, shows in runs
    )


def _vapour_file(series: Series, name: str, shows: str) -> InstrumentFile:
    return InstrumentFile(
        f"vapour-{name}.csv",
        comma_list(series),
        "comma-list",
        (series.method.id,),
        batches.TRACE,
        _ended(series),
        shows,
    )


def _ware_file(bench: _Bench) -> InstrumentFile:
    ware = [bench.series("lead-flame-ware", _WARE, 8, "10:30"), bench.series("cadmium-flame-ware", _WARE, 8, "11:15")]
    return InstrumentFile(
        "flame-ware.txt",
        semicolon_sections(ware, room="20,8"),
        "semicolon-sections",
        ("lead-flame-ware", "cadmium-flame-ware"),
        batches.WARE,
        _ended(ware[-1]),
        "lead and cadmium released from four plates, per area",
    )


def _refused(assay: list[Series], mercury: Series) -> tuple[InstrumentFile, ...]:
    whole = _assay_file(assay)
    marker = whole.content.index(b"#Element;Mg")
    cut = marker + (len(whole.content) - marker) // 2
    numbers = as_concentrations(mercury, CHANNELS[mercury.method.id])
    only = _vapour_file(numbers, "mercury-concentrations", "the same run exported as concentrations")
    return (
        replace(
            whole,
            name="flame-assay-cut-off.txt",
            content=whole.content[:cut],
            shows="the assay file as a full disk left it: it breaks off inside the magnesium section",
            refused="the section does not end",
        ),
        replace(only, refused="the method takes absorbances, the file holds concentrations"),
    )


def _an_hour_slow(series: Series) -> Series:
    hour = timedelta(hours=1)
    solutions = tuple(
        replace(seen, readings=tuple(replace(read, at=read.at - hour) for read in seen.readings))
        for seen in series.solutions
    )
    return replace(series, started=series.started - hour, solutions=solutions)
