"""Three customers share runs on a generated site: nothing that leaves for one holds a word or reading of another.

Names, labels, lots and readings are drawn anew for each seed. What leaves: sealed certificates with all in them, papers
of preliminary figures, deliveries of a profile kept to one customer, and the list of who has a certificate.
"""

from __future__ import annotations

import io
import json
import random
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import pikepdf
import pytest
from tests.desk.investigating import COLUMNS, ZONE, World, specification, world_of
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER, SECOND_APPROVER
from tests.journeys.test_additions import row
from tests.journeys.test_demo import plain_bytes, stands_in
from tests.journeys.test_stored import CURVE, file_of, own, section, standards

from benchseal.desk import deliveries, sealing
from benchseal.desk.acts_certificates import (
    AmendCertificate,
    ApproveCertificate,
    DraftCertificate,
    GivePreliminary,
    ReleaseCertificate,
    SendCertificate,
)
from benchseal.desk.acts_corrections import CorrectSample
from benchseal.desk.acts_deliveries import PlanDelivery
from benchseal.desk.acts_registers import AddPreparation, AddRegister
from benchseal.desk.acts_runs import AcceptRuns, IngestFile, SubmitRuns
from benchseal.desk.clock import stamp
from benchseal.desk.correcting import plan as planned_change
from benchseal.desk.corrections import wanted_by
from benchseal.desk.preliminary import preliminary_pdf
from benchseal.desk.recipients import holders, to_tell
from benchseal.shipped import starter

if TYPE_CHECKING:
    from pathlib import Path

    from benchseal.demo.play import Played

PLATES = 4
SAMPLE_HEAD = (
    "lot,product,customer,specification,customer_sample_id,description,condition,quantity_received,received_on,"
    "sampled_on,sampled_by,order\n"
)


@dataclass
class Lot:
    """One lot of a customer: what is written about it, and the readings of its plates as the file has them."""

    lot: str
    words: dict[str, str]
    labels: list[str]
    sample: str = ""
    readings: list[str] = field(default_factory=list)


@dataclass
class House:
    """A customer with a lot in each shared run, and everybody its certificates were sent to."""

    customer: str
    about: dict[str, str]
    lots: list[Lot]
    sent_to: str

    def secrets(self) -> set[str]:
        """Everything by which another customer could know this one, or what was read of its plates."""
        words = {self.customer, *self.about.values(), self.sent_to}
        for one in self.lots:
            words |= {one.lot, one.sample, *one.words.values(), *one.labels, *one.readings}
        return words


class Drawn:
    """Words and numbers that nobody else has."""

    def __init__(self, seed: int) -> None:
        self.of = random.Random(seed)  # noqa: S311  invented data
        self.used: set[str] = set()

    def word(self) -> str:
        while True:
            made = "".join(self.of.choice("bdfgklmnprstvz") + self.of.choice("aeiou") for _ in range(5))
            if made not in self.used:
                self.used.add(made)
                return made

    def house(self) -> House:
        lots = [
            Lot(
                f"L-{self.word()}",
                {name: f"{name[:3]} {self.word()}" for name in ("product", "reference", "description", "condition",
                                                                "quantity", "sampled_by", "order")},
                [self.word()[:6] + str(nth) for nth in range(PLATES)],
            )
            for _ in range(2)
        ]  # fmt: skip
        about = {"name": f"House {self.word()}", "address": f"{self.word()} lane", "contact": f"Mr {self.word()}"}
        return House(self.word(), about, lots, f"Ms {self.word()}")


@dataclass
class Shared:
    """The site and its customers."""

    world: World
    houses: list[House]
    drawn: Drawn

    def enter(self) -> None:
        """Customers and their samples, in the registers."""
        rows = [
            f"{one.customer},{one.about['name']},{one.about['address']},{one.about['contact']}" for one in self.houses
        ]
        text = "\n".join(("customer,name,address,contact", *rows, ""))
        self.world.do(AddRegister("customer", text.encode(), "customers.csv"), ANALYST)
        day = f"{self.world.later(hours=1).astimezone(ZONE):%Y-%m-%d}"
        for house in self.houses:
            agreed = specification().decode().replace("id: flat-ware", f"id: ware-{house.customer}")
            self.world.document(agreed.replace("customer: selby", f"customer: {house.customer}").encode(), "w.yaml")
            lines = [
                f"{one.lot},{one.words['product']},{house.customer},ware-{house.customer},{one.words['reference']},"
                f"{one.words['description']},{one.words['condition']},{one.words['quantity']},{day},{day},"
                f"{one.words['sampled_by']},{one.words['order']}\n"
                for one in house.lots
            ]
            done = self.world.do(AddRegister("sample", (SAMPLE_HEAD + "".join(lines)).encode(), "s.csv"), ANALYST)
            for one, sample in zip(house.lots, done.data["samples"], strict=True):  # type: ignore[arg-type]
                one.sample = str(sample)

    def measure(self, nth: int) -> None:
        """One batch and one run with the plates of all customers in it, in any order."""
        lots = [house.lots[nth] for house in self.houses]
        plates = [(one, label) for one in lots for label in one.labels]
        self.drawn.of.shuffle(plates)
        tail = f"{ANALYST},{self.world.later(hours=1).astimezone(ZONE):%Y-%m-%dT%H:%M:%S}"
        head = [
            f"K{nth}-MB,KW-{nth},method_blank,,Pb,350,{tail},,",
            f"K{nth}-CS,KW-{nth},control_sample,,Pb,350,{tail},,Pb 1050",
        ]
        sheet = [f"{label},KW-{nth},sample,{one.sample},Pb,350,{tail},2.50," for one, label in plates]
        self.world.later(hours=1)
        self.world.do(AddPreparation((COLUMNS + "\n".join((*head, *sheet)) + "\n").encode(), "p.csv"), ANALYST)
        begun = self.world.later(hours=1).astimezone(ZONE)
        wet = [one.replace("V-", f"K{nth}-") for one in own(1.0, 0.0)]
        held = {id(one): self.drawn.of.uniform(1.2, 3.2) for one in lots}
        rows = []
        for one, label in plates:
            signal = CURVE * (held[id(one)] + self.drawn.of.uniform(0.0, 0.02))
            readings = [f"{signal * (1 + by):.7f}" for by in (-0.003, 0.001, 0.002)]
            mean = f"{sum(map(float, readings)) / 3:.7f}"
            one.readings += [*readings, mean]
            rows.append(";".join([label, "P", "", "1", *(text.replace(".", ",") for text in (*readings, mean))]))
        pair = (row("Pb-CK1", "C", CURVE * 5), row("Pb-CB1", "CZ", 0.0002))
        rows = [*rows[:PLATES], *pair, *rows[PLATES:], *pair]  # every ten solutions at the latest
        text = section(f"{begun:%H.%M.%S}", [*standards(), *wet, *rows], f"{begun:%d.%m.%Y}")
        self.world.later(hours=1)
        done = self.world.do(IngestFile(file_of(text), f"shared-{nth}.txt", "", ()), ANALYST)
        runs = tuple(str(run) for run in done.data["runs"])  # type: ignore[union-attr]
        assert len(runs) == 1, done.notices
        self.world.do(SubmitRuns(runs), ANALYST)
        self.world.do(AcceptRuns(runs), REVIEWER)

    def figures(self, house: House, one: Lot) -> bytes:
        given = self.world.do(GivePreliminary(one.lot, house.sent_to, "a delivery waits"), APPROVER)
        with self.world.site.store.reading() as view:
            return preliminary_pdf(view, str(given.data["number"]))

    def corrected(self, lot: str, change: str) -> None:
        wrong = CorrectSample(lot, (change,), "the receipt note", "")
        with self.world.site.store.reading() as view:
            shown = planned_change(view, self.world.site.ledger, stamp(self.world.site.clock()), wanted_by(wrong))
        self.world.do(replace(wrong, effect=shown.figures), ANALYST, REVIEWER)

    def certificate(self, house: House, one: Lot, replacing: str = "") -> tuple[str, bytes]:
        if replacing:
            one.words["condition"] = f"con {self.drawn.word()}"
            self.corrected(one.lot, f"condition={one.words['condition']}")
        amended = AmendCertificate(replacing, "the condition was named wrong", "")
        act = amended if replacing else DraftCertificate(one.lot, "")
        number = str(self.world.do(act, ANALYST).data["number"])
        self.world.do(ApproveCertificate(number), APPROVER)
        self.world.do(ReleaseCertificate(number), SECOND_APPROVER)
        sealing.finish(self.world.site, number)
        self.world.do(SendCertificate(number, house.sent_to, "by mail"), ANALYST)
        return number, (self.world.site.certificates / f"{number}.pdf").read_bytes()

    def delivery(self, house: House) -> bytes:
        profile = starter("profiles/comma-utf8.yaml").replace("id: comma-utf8", f"id: only-{house.customer}")
        profile += f"choose: {{customers: [{house.customer}]}}\n"
        self.world.document(profile.encode(), "profile.yaml")
        folder = self.world.site.folder.parent / f"to-{house.customer}"
        folder.mkdir()
        planned = self.world.do(PlanDelivery(f"only-{house.customer}", str(folder)), APPROVER)
        deliveries.finish(self.world.site, str(planned.data["delivery"]))
        return b"\n".join(
            path.name.encode() + path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()
        )


def generated(played: Played, folder: Path, seed: int) -> Shared:
    drawn = Drawn(seed)
    site = Shared(world_of(played, folder), [drawn.house() for _ in range(3)], drawn)
    site.enter()
    for nth in range(2):
        site.measure(nth)
    return site


@pytest.mark.refuses("P11 11.10")
@pytest.mark.parametrize("seed", [20261126, *(pytest.param(seed, marks=pytest.mark.long) for seed in range(20))])
def test_nothing_that_leaves_for_one_customer_tells_of_another(played: Played, tmp_path: Path, seed: int) -> None:
    shared = generated(played, tmp_path / "site", seed)
    leaving: dict[str, list[tuple[str, bytes]]] = {house.customer: [] for house in shared.houses}
    numbers: dict[str, list[str]] = {house.customer: [] for house in shared.houses}
    for house in shared.houses:
        for one in house.lots:
            leaving[house.customer].append((f"figures of {one.lot}", plain_bytes(shared.figures(house, one))))
            number, pdf = shared.certificate(house, one)
            numbers[house.customer].append(number)
            leaving[house.customer].append((number, plain_bytes(pdf)))
        number, pdf = shared.certificate(house, house.lots[0], numbers[house.customer][0])
        numbers[house.customer].append(number)
        leaving[house.customer].append((f"{number}, replacing", plain_bytes(pdf)))
    for house in shared.houses:
        leaving[house.customer].append(("delivery", shared.delivery(house)))
        with shared.world.site.store.reading() as view:
            lists = [(holders(view, number), to_tell(view, number)) for number in numbers[house.customer]]
        leaving[house.customer].append(("who has it", json.dumps(lists).encode()))
    for house in shared.houses:
        foreign = foreign_to(house, shared.houses, numbers)
        assert len(foreign) > 80
        for name, data in leaving[house.customer]:
            assert found_in(house.secrets(), data), f"{name}: the search finds nothing of its own"
            assert found_in(foreign, data) == set(), (house.customer, name)
    shared.world.site.store.close()


def foreign_to(house: House, houses: list[House], numbers: dict[str, list[str]]) -> set[str]:
    words: set[str] = set()
    for other in houses:
        if other is not house:
            words |= other.secrets() | set(numbers[other.customer])
    return words - house.secrets()


def found_in(words: set[str], data: bytes) -> set[str]:
    """Words that stand there, also without the decimal mark, also each drawn word of several alone."""
    parts = words | {part for word in words for part in word.replace("L-", "").split() if len(part) > 6}
    return {word for word in parts if stands_in(word, data)}


def test_a_leak_would_be_found() -> None:
    """In a stream, in the text of a page, in an attachment, in the metadata."""
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        pdf.attachments["evidence.json"] = pikepdf.AttachedFileSpec(
            pdf, b'{"label":"kobaru1"}', filename="evidence.json"
        )
        pdf.docinfo["/Subject"] = "House nutilo"
        pdf.pages[0].Contents = pdf.make_stream(b"% zopira\n")
        out = io.BytesIO()
        pdf.save(out, compress_streams=True)
    data = plain_bytes(out.getvalue())
    assert found_in({"kobaru1", "House nutilo", "zopira", "absent"}, data) == {"kobaru1", "House nutilo", "zopira"}
