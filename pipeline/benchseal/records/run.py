"""A run: one element, one calibration, one ordered series on one instrument.

``RunDocument`` is what a file said, columnar, nothing interpreted beyond plain decimal text. ``Run`` is a run
document that passed every rule, bound to what it was measured for; a ``Run`` that exists is valid.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from benchseal.records.canonical import Digest
from benchseal.records.method import Flame, Method, SignalForm, SignalIs, Technique
from benchseal.records.quantities import PlainDecimal
from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY

SolutionKind: TypeAlias = Literal[
    "calibration_blank",
    "standard",
    "second_source",
    "check_standard",
    "check_blank",
    "method_blank",
    "control_sample",
    "reference_material",
    "sample",
    "duplicate",
    "spiked_sample",
    "rinse",
    "lowest_level",
    "post_spiked_sample",
    "bracket_standard",
    "correction_standard",
]

# Solutions that "every 10" counts: all but calibration and the check pair (common practice, the careful reading).
PRESENTED_KINDS: frozenset[str] = frozenset(
    {
        "method_blank",
        "control_sample",
        "reference_material",
        "sample",
        "duplicate",
        "spiked_sample",
        "post_spiked_sample",
    }
)


@dataclass(frozen=True, slots=True)
class DocumentRef:
    """An approved version of a controlled document; digest of its canonical bytes."""

    id: str
    version: int
    digest: Digest


@dataclass(frozen=True, slots=True)
class RunFacts:
    """What the file says about the run as a whole. Empty text: the file does not say.

    started_at: local text ``YYYY-MM-DDTHH:MM:SS`` as read; zone and fold come from the instrument's register entry
    and the layout. line: number of the first line of the run's section. slit_nm, flame, signal_form, injection_ul:
    settings few files state; what is stated must be the method's.
    """

    element: str
    wavelength_nm: PlainDecimal
    technique: Technique
    instrument_serial: str
    operator: str
    method_name: str
    started_at: str
    signal_is: SignalIs
    signal_unit: str
    background_correction: str
    line: int
    slit_nm: PlainDecimal = ""
    flame: Flame = ""
    signal_form: SignalForm = ""
    injection_ul: PlainDecimal = ""


@dataclass(frozen=True, slots=True)
class SolutionColumns:
    """Solutions in presented order; arrays of equal length.

    position: from 1, rising. nominal: concentration the file prints for a standard, or empty. dilution: extra
    dilution at the instrument, ``1`` for none. first_reading, reading_count: rows of ``ReadingColumns``.
    """

    position: tuple[int, ...]
    label: tuple[str, ...]
    kind: tuple[SolutionKind, ...]
    nominal: tuple[PlainDecimal, ...]
    dilution: tuple[PlainDecimal, ...]
    first_reading: tuple[int, ...]
    reading_count: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class ReadingColumns:
    """Readings in file order; arrays of equal length.

    signal: plain decimal text, empty where the instrument gave a word instead of a number (then flag names it).
    as_read: the file's own text. line, column: from 1, of the signal. taken_at: as started_at, or empty.
    flag: empty, ``over_range``, ``missing`` or ``excluded`` (by a person, for a cause found). background: background
    absorbance, or empty. number: of the instrument's counter, whole, without leading zeros; no items where the file has
    none, else one for each reading.
    """

    signal: tuple[PlainDecimal, ...]
    as_read: tuple[str, ...]
    line: tuple[int, ...]
    column: tuple[int, ...]
    replicate: tuple[int, ...]
    taken_at: tuple[str, ...]
    background: tuple[PlainDecimal, ...]
    flag: tuple[str, ...]
    number: tuple[PlainDecimal, ...] = ()


@dataclass(frozen=True, slots=True)
class MeanColumns:
    """Mean rows the instrument printed, kept for comparison, never used: solution index, text, line."""

    solution: tuple[int, ...]
    mean: tuple[PlainDecimal, ...]
    line: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class RunDocument:
    """What one section of one instrument file said."""

    schema: Literal["run-document/1"]
    source_name: str
    source_sha256: Digest
    source_bytes: int
    layout: DocumentRef
    facts: RunFacts
    solutions: SolutionColumns
    readings: ReadingColumns
    means: MeanColumns


@dataclass(frozen=True, slots=True)
class StoredSolution:
    """One calibration solution of an earlier run as it was read there."""

    position: int
    label: str
    kind: SolutionKind
    nominal: PlainDecimal
    signals: tuple[PlainDecimal, ...]
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class StoredCurve:
    """The calibration of an earlier run: which, when it was measured, and every reading its curve is fitted to.

    work: digest of the calculation it was taken from, source_sha256: of the file the readings stand in.
    """

    run: str
    version: int
    work: Digest
    source_sha256: Digest
    measured_at: str
    solutions: tuple[StoredSolution, ...]


GapAt: TypeAlias = Literal["inside", "before", "after"]


@dataclass(frozen=True, slots=True)
class NumberGap:
    """What the reading numbers of a run leave open, in its file or against another run of the instrument.

    kind: ``missing`` (numbers ``first`` to ``last`` are nowhere), ``set_back`` (the counter goes from ``first`` to the
    lower ``last`` as time goes on), ``shared`` (``shared`` readings with numbers from ``first`` to ``last`` stand in
    ``run`` too). at: between readings or sections of the file, before its first reading, after its last one.
    lines: of this file, around the gap or where the shared readings stand. run: the other run, empty where there is
    none. other_signals, other_names: how many shared readings have another signal, another name of solution, there.
    because, by: the explanation on record and who gave it, or empty.
    """

    kind: Literal["missing", "set_back", "shared"]
    at: GapAt
    first: PlainDecimal
    last: PlainDecimal
    lines: tuple[int, ...]
    run: str = ""
    shared: int = 0
    other_signals: int = 0
    other_names: int = 0
    because: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True)
class Run:
    """A valid run, ready to compute.

    portion: per solution the batch and label of its preparation, ``("", "")`` for calibration and checks.
    hidden: per solution True where only its place is known (the outside check); never True inside a site.
    measured_at: UTC ``YYYY-MM-DDTHH:MM:SSZ``. standard_lots: calibration lot first, then second source if any.
    stored_curve: one where the run has no standards of its own and uses an earlier curve, else none.
    number_gaps: what its reading numbers left open when its file came in; recalculating does not look again.
    clock_changed: whether, by the zone of the instrument, its clock was or may have been put forward or back between
    two readings. Local times then tell no spans.
    """

    document: RunDocument
    method: Method
    method_ref: DocumentRef
    instrument: str
    measured_at: str
    portion: tuple[tuple[str, str], ...]
    hidden: tuple[bool, ...]
    standard_lots: tuple[str, ...]
    stored_curve: tuple[StoredCurve, ...] = ()
    number_gaps: tuple[NumberGap, ...] = ()
    clock_changed: bool = field(default=False, metadata=LEFT_OUT_WHEN_EMPTY)
