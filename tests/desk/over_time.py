"""Many invented runs of one furnace method in a site's ledger, each as the acts would have written it.

The entries go through the store's own door, so that every derived row is the projection's. Readings are invented: what
the checks hold is said run by run.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from tests.compute.making import METHOD_REF, Shot, bench_of, pair, pb_method, portion_of, rule, run_of, samples
from tests.compute.making import standards as calibration

from benchseal.compute.run_work import work_run
from benchseal.records.canonical import digest
from benchseal.records.entries import Entry
from benchseal.records.results import RunWork
from benchseal.records.shape import record_bytes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.desk.site import Site
    from benchseal.records.method import Method

ANA = "p-ana.keel"
QUIET = (9.9, 10.1, 10.05, 9.95, 10.02, 9.98, 10.09, 9.91, 10.01, 9.99)  # breaks no run rule
RULES = (
    rule("second_source"), rule("check_standard"), rule("check_blank"),
    rule("portions_agree", low="", high="20", required=False), rule("sensitivity", expected="38"),
)  # fmt: skip


def method_of(**changes: Any) -> Method:  # noqa: ANN401
    return replace(
        pb_method(checks=RULES),
        conditions=replace(pb_method().conditions, injection_ul="20"),
        **changes,
    )


@dataclass
class Over:
    """Writes runs one after another. method: the one in force; taken: how many runs there are."""

    site: Site
    method: Method = field(default_factory=method_of)
    taken: int = 0

    def __post_init__(self) -> None:
        for kind, name, facts in (
            ("instrument", "AA-1", {"serial": "1", "technique": "furnace"}),
            ("instrument", "AA-2", {"serial": "2", "technique": "furnace"}),
            ("standard_lot", "PB-CAL", {"element": "Pb", "purpose": "calibration"}),
            ("standard_lot", "PB-NEW", {"element": "Pb", "purpose": "calibration"}),
            ("standard_lot", "PB-SEC", {"element": "Pb", "purpose": "second_source"}),
        ):
            self.write(f"{kind}.added", f"{kind}/{name}", facts, {"record": name.encode()})
        self.version(self.method, 1)

    def version(self, method: Method, number: int) -> None:
        """A version of the method is on record; runs written from now on are measured by it."""
        self.method = method
        facts = {"kind": "method", "id": method.id, "version": number, "title": method.title}
        objects = {"source": b"source", "value": record_bytes(method)}
        self.write("document.added", f"document/method/{method.id}", facts, objects)

    def run(self, standard: float | None = 10.0, **changes: Any) -> str:  # noqa: ANN401  fields of a run, or its shots
        """A run whose check standard holds ``standard``; its number. day: of measurement, from 2026-03-01 on."""
        self.taken += 1
        name = f"R-{self.taken:05d}"
        self.write("run.ingested", f"run/{name}", self._facts(changes), self._objects(standard, changes))
        return name

    def again(self, run: str, standard: float, **changes: Any) -> None:  # noqa: ANN401
        """The run is calculated again, and its check standard comes out otherwise."""
        self.write("run.calculated", f"run/{run}", {}, self._objects(standard, changes))

    def reviewed(self, run: str, version: int) -> None:
        """The calculation at hand is reviewed."""
        with self.site.store.reading() as view:
            row = view.row("run", run=run)
            assert row is not None
            objects = {name: view.bytes_of(row[name]) for name in ("work", "bound")}
        self.write(
            "run.reviewed",
            f"run/{run}",
            {"version": version, "signature": _signature(run)},
            {**objects, "manifest": b"manifest", "packet": b"packet"},
        )

    def cancelled(self, run: str) -> None:
        """The run is ended."""
        self.write("run.cancelled", f"run/{run}", {"signature": _signature(run)}, {})

    def write(self, kind: str, subject: str, facts: dict[str, Any], objects: dict[str, bytes]) -> None:
        with self.site.store.writing() as tx:
            digests = {name: tx.keep(data) for name, data in objects.items()}
            tx.append(Entry(tx.size() + 1, kind, "2026-06-01T08:00:00.000Z", ANA, subject, "", facts, digests))

    def _facts(self, changes: dict[str, Any]) -> dict[str, Any]:
        return {
            "count": self.taken,
            "name": "invented.txt",
            "element": "Pb",
            "method": self.method.id,
            "instrument": changes.get("instrument", "AA-1"),
            "operator": "",
            "measured_at": self._at(changes),
            "portions": [],
        }

    def _objects(self, standard: float | None, changes: dict[str, Any]) -> dict[str, bytes]:
        shots = changes.get("shots") or shots_of(standard, changes.get("slope", 1.0))
        run = replace(
            run_of(shots, self.method),
            method_ref=replace(METHOD_REF, digest=digest(record_bytes(self.method))),
            instrument=changes.get("instrument", "AA-1"),
            measured_at=self._at(changes),
            standard_lots=(changes.get("lot", "PB-CAL"), "PB-SEC"),
        )
        bench = bench_of((portion_of("A"), portion_of("A2", kind="duplicate")))
        lots = {lot: replace(bench.lots["PB-CAL"], lot=lot) for lot in run.standard_lots}
        work = work_run(run, replace(bench, lots=lots))
        assert isinstance(work, RunWork), work
        return {"raw": b"raw", "document": record_bytes(run.document), "bound": record_bytes(run),
                "work": record_bytes(work)}  # fmt: skip

    def _at(self, changes: dict[str, Any]) -> str:
        day = changes.get("day", self.taken)
        return f"2026-{3 + (day - 1) // 28:02d}-{1 + (day - 1) % 28:02d}T08:00:00Z"


def shots_of(standard: float | None, slope: float = 1.0) -> Sequence[Shot]:
    """A calibration, checks, two portions of one sample. standard: what the check standard holds, None: it is lost."""
    lost = ("over",) * 3
    first, blank = pair(standard or 10.0)
    checked = (replace(first, signals=lost) if standard is None else first, blank)
    known = (Shot("second_source", "SS", 10.0), *checked)
    shots = (*calibration(), *known, *samples(("A",), 5.0), Shot("duplicate", "A2", 5.2, portion="A2"))
    return [_scaled(shot, slope) for shot in shots] if slope != 1.0 else shots


def _scaled(shot: Shot, slope: float) -> Shot:
    from tests.compute.making import pb_signal  # noqa: PLC0415

    signals = (slope * pb_signal(shot.holds) * (1 + 0.01 * side) for side in (-1, 0, 1))
    return replace(shot, signals=tuple(f"{one:.7f}" for one in signals))


def _signature(run: str) -> dict[str, Any]:
    statement = {
        "subject": f"run/{run}", "digest": "0" * 64, "person": "p-ben.marsh", "role": "reviewer", "meaning": "reviewed",
        "at": "2026-06-01T08:00:00.000Z", "version": 1, "ledger": "x", "printed_name": "Ben Marsh", "zone": "UTC",
    }  # fmt: skip
    return {"statement": statement, "signature": digest(run.encode())}
