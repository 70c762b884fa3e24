"""The demo's laboratory asked for more: one element on two bases and as a substance, from sheet to sealed certificate.

Everything is invented; this shows that two results of one element and quantity stay two everywhere.
"""

from __future__ import annotations

import csv
import io
import shutil
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from tests.conftest import TestClock, cheap_hashes
from tests.journeys.commands import ANALYST, APPROVER, Line

from benchseal.certificate.present import result_rows
from benchseal.demo import play as demo
from benchseal.demo.scenario import Scenario, Sheet, scenario
from benchseal.desk.gathering import look
from benchseal.desk.reading import load, sample_of_lot
from benchseal.identity.keys import Hardness
from benchseal.records.evidence import Evidence
from benchseal.records.results import Quantified
from benchseal.records.species import expression_factor
from benchseal.shipped import starter

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

LINE = """
  - element: Mg
    quantity: content
    unit: '{unit}'
    methods: [magnesium-flame]
    portions: 2
    lower: ''
    upper: ''
    rule: simple
    rounding: half_up
    decimals: -1
    exceedance_means: report
    limit_source: 'no limit'
    basis: {basis}
    expressed_as: '{substance}'
"""
ASKED = (("as received", ""), ("dry", ""), ("dry", "MgO"))
MOISTURE = {"moisture_percent": "2.50", "u_moisture_percent": "0.10"}


def asking_for_more(start: date) -> Scenario:
    """The scenario with three more lines for lozenges, and a moisture for every portion of a sample."""
    script = scenario(start)
    more = "".join(
        LINE.format(unit="%" if substance else "mg/g", basis=basis, substance=substance) for basis, substance in ASKED
    )
    documents = tuple(
        replace(one, text=one.text.rstrip("\n") + more) if one.name == "mineral-lozenge.yaml" else one
        for one in script.documents
    )
    return replace(script, documents=documents, preparations=tuple(map(_with_moisture, script.preparations)))


def _with_moisture(sheet: Sheet) -> Sheet:
    rows = list(csv.DictReader(io.StringIO(sheet.content.decode())))
    text = io.StringIO()
    writer = csv.DictWriter(text, [*rows[0], *MOISTURE])
    writer.writeheader()
    for row in rows:
        writer.writerow(row | (MOISTURE if row["sample"] and row.get("mass_g") else dict.fromkeys(MOISTURE, "")))
    return replace(sheet, content=text.getvalue().encode())


def _profile(name: str) -> str:
    """The starter with a column for substances, without which their values are not delivered."""
    column = "  - {title: basis, field: basis}\n"
    return starter(name).replace(column, column + "  - {title: expressed_as, field: expressed_as}\n")


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> tuple[demo.Played, list[str]]:
    said: list[str] = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(demo, "scenario", asking_for_more)
        patch.setattr(demo, "starter", _profile)
        folder = tmp_path_factory.mktemp("bases") / "site"
        made = demo.play(folder, said.append, clock=TestClock(), hashes=cheap_hashes(), hardness=Hardness(1, 8, 1))
    return made, said


def evidence_of(made: demo.Played, number: str) -> Evidence:
    with made.site.store.reading() as view:
        row = view.row("certificate", number=number)
        assert row is not None
        return load(view, Evidence, row["evidence"])


def test_certificates_are_genuine_and_the_site_is_whole(played: tuple[demo.Played, list[str]]) -> None:
    made, said = played
    assert made.whole, said[-6:]
    assert len(made.certificates) == 3


def test_each_basis_and_substance_is_a_row_of_its_own(played: tuple[demo.Played, list[str]]) -> None:
    evidence = evidence_of(played[0], played[0].certificates[0])
    shown = [row for row in result_rows(evidence) if row.substance == "Magnesium"]
    assert [row.quantity for row in shown] == [
        "of claim, 25 mg",
        "total, as received",
        "total, on dry basis",
        "total, mass fraction, on dry basis, as MgO",
    ]
    assert [row.unit for row in shown] == ["%", "mg/g", "mg/g", "%"]
    assert ["moisture taken out: 2.50 %" in row.detail for row in shown] == [False, False, True, True]
    assert len({row.phrase for row in shown}) == 4


def test_the_three_agree_with_each_other(played: tuple[demo.Played, list[str]]) -> None:
    evidence = evidence_of(played[0], played[0].certificates[0])
    found = {
        (basis.result.basis, basis.result.expressed_as): basis.result.outcome
        for basis in evidence.results
        if basis.result.element == "Mg" and basis.result.quantity == "content"
    }
    assert list(found) == list(ASKED)
    values = [Fraction(one.value) for one in found.values() if isinstance(one, Quantified)]
    assert float(values[1] / values[0]) == pytest.approx(1 / 0.975, rel=1e-10)
    percent = values[1] / 10 * expression_factor("MgO", "Mg")  # mg/g to percent
    assert float(values[2] / percent) == pytest.approx(1, rel=1e-10)


def test_rows_are_delivered_with_basis_and_substance(played: tuple[demo.Played, list[str]]) -> None:
    site = played[0].site
    (data,) = sorted(site.outbox.glob("*.csv"))
    delivered = csv.DictReader(io.StringIO(data.read_text(encoding="utf-8"), newline=""))
    rows = [row for row in delivered if row["element_symbol"] == "Mg"]
    kept = {(row["reported_quantity"], row["basis"], row["expressed_as"], row["unit_ucum"]) for row in rows}
    assert {
        ("content", "as received", "", "mg/g"),
        ("content", "dry", "", "mg/g"),
        ("content", "dry", "MgO", "%"),
    } <= kept
    of_substance = [row for row in rows if row["expressed_as"]]
    assert {row["cas_number"] for row in of_substance} == {""}


def test_each_line_of_a_specification_finds_its_own_result(played: tuple[demo.Played, list[str]]) -> None:
    """Of the held lot, which has no certificate."""
    with played[0].site.store.reading() as view:
        _, found = look(view, sample_of_lot(view, demo.HELD_LOT))
    named = [
        (one.result.quantity, one.result.basis, one.result.expressed_as) for one in found if one.result.element == "Mg"
    ]
    assert named == [("percent_of_claim", "as received", ""), *(("content", *asked) for asked in ASKED)]


def test_lists_tell_them_apart(played: tuple[demo.Played, list[str]], capsys: pytest.CaptureFixture[str]) -> None:
    line = Line(played[0].site.folder, capsys)
    shown = line("sample", "show", "A-1", by=(ANALYST,)).out
    (run,) = {text.split("(")[-1].split(",")[0] for text in shown.splitlines() if text.startswith("Mg content")}
    for text, start in ((shown, "Mg "), (line("run", "show", run, by=(ANALYST,)).out, "  S-00001 (lot A-1) Mg ")):
        names = [row.split(":")[0] for row in text.splitlines() if row.startswith(start)]
        assert names == [
            f"{start}percent of claim",
            f"{start}content",
            f"{start}content, on dry basis",
            f"{start}content, on dry basis, as MgO",
        ]


def test_a_new_version_that_asks_for_one_more_names_the_change(
    played: tuple[demo.Played, list[str]], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Results of the earlier version answer no line of the later one; that is said, not that nothing was measured."""
    folder = tmp_path / "site"
    shutil.copytree(played[0].site.folder, folder)
    line = Line(folder, capsys)
    text = line("document", "show", "mineral-lozenge", by=(ANALYST,)).out
    later = tmp_path / "mineral-lozenge.yaml"
    later.write_text(
        text[text.index("kind:") :].rstrip("\n") + LINE.format(unit="%", basis="as received", substance="MgO"),
        encoding="utf-8",
    )
    assert line("document", "add", str(later), by=(ANALYST,)).code == 0
    assert line("document", "approve", "specification/mineral-lozenge", by=(APPROVER,)).code == 0
    answer = line("certificate", "draft", "A-2", by=(ANALYST,))
    refused = [row for row in answer.err.splitlines() if "Mg" in row]
    assert len(refused) == 5
    assert all("certificate.specification-changed" in row for row in refused)
    assert sum("Mg, on dry basis, as MgO" in row for row in refused) == 1
