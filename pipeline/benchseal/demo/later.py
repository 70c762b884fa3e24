"""What happened after the release: a customer orders nickel for lot B-1, and the certificate of lot A-3 is withdrawn.

Invented like the rest. Nickel is read in two new digests of what was kept of the lot; the limit is ICH Q3D(R2)'s
permitted exposure over the real dose, rounded down, as for the other elements of that product.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Final

from benchseal.demo import sheets
from benchseal.demo.batches import Tube
from benchseal.demo.bench import Measurement, Order, measured
from benchseal.demo.calendar import at
from benchseal.demo.curves import Channel
from benchseal.demo.draws import Draws
from benchseal.demo.instrument_files import page_print
from benchseal.demo.people import FLAME_ANALYST, TRACE_ANALYST
from benchseal.demo.preparation import portion_row
from benchseal.demo.registers import SERIALS
from benchseal.demo.stage import APPROVER, REVIEWER, certify
from benchseal.desk import notices
from benchseal.desk.acts_certificates import SendCertificate, SupplementCertificate, TellRecipient, WithdrawCertificate
from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_registers import AddPreparation, AddRegister
from benchseal.desk.acts_runs import AcceptRuns, IngestFile, SubmitRuns
from benchseal.desk.recipients import holders
from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.records.method import Method
from benchseal.records.registers import StandardLot
from benchseal.shipped import starter

if TYPE_CHECKING:
    from datetime import date

    from benchseal.demo.scenario import Scenario
    from benchseal.demo.stage import Stage

BATCH: Final = "TR-02"
_LOT, _DAY = "B-1", 9
_METHOD: Final = "nickel-furnace"
_UG_PER_G: Final = (3.12, 3.06)
_STEPS: Final[dict[str, tuple[tuple[str, str], ...]]] = {"Ni": (("5", "50"),)}
_READER: Final = "J. Reed, purchasing"
_CHANNEL: Final = Channel(
    _METHOD, "furnace-1", "tobias.quill", 0.0012, 0.0044, 0.0, 5, 1.2, 2.2, 0.0003, 0.2, (0.05, 0.30), 15, 105, 1.006
)
_REQUIREMENT: Final = """  - element: Ni
    quantity: content
    unit: 'ug/g'
    methods: [nickel-furnace]
    portions: 2
    lower: ''
    upper: '8.3'
    rule: guarded
    rounding: half_up
    decimals: 2
    exceedance_means: investigate
    limit_source: 'ICH Q3D(R2) oral PDE 200 ug/day ÷ 24 g/day = 8.33 ug/g, rounded down; PDE from a cross-checked secondary table, compare with the guideline before use'
    pde_ug_per_day: '200'
    daily_dose_g: '24'
    route: oral
"""  # noqa: E501  one line of a document
_WITHDRAWN: Final = "the customer found that the sample sent as lot A-3 was taken from another lot"


def supplement(stage: Stage, script: Scenario, first: str) -> str:
    """Nickel, ordered after the certificate ``first`` was released, in a certificate beside it; its number."""
    for name, text in (
        (f"{_METHOD}.yaml", starter(f"methods/{_METHOD}.yaml")),
        (
            "drink-sachet.yaml",
            starter("specifications/drink-sachet.yaml").replace("the four limits", "the limits") + _REQUIREMENT,
        ),
    ):
        added = stage.do(AddDocument(text.encode("utf-8"), name), FLAME_ANALYST)
        stage.sign(ApproveDocument(f"{added.data['kind']}/{added.data['id']}"), APPROVER)
    stage.do(
        AddRegister("standard", sheets.plain_rows(_standards(script.start)), "nickel-standards.csv"), TRACE_ANALYST
    )
    tubes = _tubes(script.seed)
    prepared_at = at(script.start, _DAY, "09:40").isoformat()
    rows = [portion_row(tube, TRACE_ANALYST, prepared_at, script.sample_of_lot) for tube in tubes.values()]
    stage.do(AddPreparation(sheets.preparation(rows), "preparation-nickel.csv"), TRACE_ANALYST)
    run = _measure(stage, script, tubes)
    stage.sign(SubmitRuns((run,)), TRACE_ANALYST)
    stage.sign(AcceptRuns((run,)), REVIEWER)
    reason = "nickel was ordered after the certificate was released"
    drafted = stage.do(SupplementCertificate(first, reason, ""), TRACE_ANALYST)
    number = certify(stage, drafted)
    stage.tell(f"Nickel is ordered for lot {_LOT}: {run}, then supplement {number} beside {first}.")
    return number


def withdraw(stage: Stage, number: str) -> None:
    """A certificate that somebody was sent, taken back; its notice is sealed, and everybody who has it is told."""
    stage.do(SendCertificate(number, _READER, "by mail"), FLAME_ANALYST)
    stage.sign(WithdrawCertificate(number, _WITHDRAWN), APPROVER)
    notice = notices.finish(stage.site, number)
    with stage.site.store.reading() as view:
        told = holders(view, number)
    for name in told:
        stage.do(TellRecipient(number, name, f"by mail, with {notice.data['notice']}"), FLAME_ANALYST)
    stage.tell(f"{number} is withdrawn; its notice {notice.data['notice']} went to {' and '.join(told)}.")


def _measure(stage: Stage, script: Scenario, tubes: dict[str, Tube]) -> str:
    order = Order(tuple((label, "1") for label in tubes), {"Ni-SB": 1.0})
    one = Measurement(_method(), _CHANNEL, order, tubes, Draws(script.seed, _METHOD))
    printed = page_print(measured(one, at(script.start, _DAY, "13:20"), SERIALS["furnace-1"]))
    (stage.site.folder / "inbox" / "furnace-nickel.txt").write_bytes(printed)
    done = stage.do(IngestFile(printed, "furnace-nickel.txt", "page-print", (BATCH,)), TRACE_ANALYST)
    runs = done.data["runs"]
    if not isinstance(runs, list) or len(runs) != 1:
        raise AssertionError(f"the file of nickel holds one run: {done.notices}")
    return str(runs[0])


def _method() -> Method:
    read = read_document(starter(f"methods/{_METHOD}.yaml").encode("utf-8"), f"{_METHOD}.yaml")
    if isinstance(read, ControlledDocument) and isinstance(read.value, Method):
        return read.value
    raise AssertionError(f"the starter method {_METHOD} is not good: {read}")


def _standards(start: date) -> tuple[StandardLot, ...]:
    """A calibration lot and a second source for nickel."""
    since, until = (start - timedelta(days=40)).isoformat(), (start + timedelta(days=320)).isoformat()
    return (
        StandardLot("DW-Ni-41", "Ni", "calibration", "1000", "mg/L", "0.50", "Dulse and Whin Reference Solutions",
                    "DW3171 (invented)", since, until),
        StandardLot("SA-Ni-41", "Ni", "second_source", "1000", "mg/L", "0.50", "Samphire Standard Works",
                    "SA3171 (invented)", since, until),
    )  # fmt: skip


def _tubes(seed: int) -> dict[str, Tube]:
    """Blank, control and two digests of the lot."""
    draws = Draws(seed, "nickel masses")

    def weighed() -> str:
        return f"{draws.between(0.5000, 0.5050):.4f}"

    masses = (weighed(), weighed())
    lot = [
        Tube(f"N-B1/{nth}", BATCH, "sample", _LOT, "25.0", _STEPS, {"Ni": held * float(mass) / 25.0}, mass_g=mass)
        for nth, (held, mass) in enumerate(zip(_UG_PER_G, masses, strict=True), 1)
    ]
    own = (
        Tube("N-MB", BATCH, "method_blank", "", "25.0", _STEPS, {"Ni": 0.02 / 25.0}),
        Tube("N-CS", BATCH, "control_sample", "", "25.0", _STEPS, {"Ni": 2.0 * 0.965 / 25.0}, mass_g=weighed(),
             added_ug={"Ni": "2.0"}),
    )  # fmt: skip
    return {tube.label: tube for tube in (*own, *lot)}
