"""Certificates after their release: amended, withdrawn, added to; who has them, and what receivers are sent."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pikepdf
import pytest
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER, SECOND_APPROVER, TRACE_ANALYST
from tests.journeys.test_corrections import certificates, done, good, refused, whole

from benchseal.certificate.page_text import page_texts
from benchseal.certificate.read_pdf import SealedPdf, open_certificate
from benchseal.desk import recipients
from benchseal.shipped import starter
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from tests.journeys.commands import Line

CUSTOMER = "Ardlea Lozenge Works"
WRONG_MASS = ("preparation", "correct", "AY-01/Y-A1/1", "--set", "mass_g=1.0101", "--reason", "read from the printout")
PAGE_PRINT = "cp1252"  # how that instrument writes
WHY = "the mass of one portion was read wrongly"


def number_of(line: Line, lot: str) -> str:
    return str(line.rows(f"SELECT number FROM certificate WHERE lot = '{lot}'")[0][0])  # noqa: S608


def corrected(line: Line) -> str:
    """A wrong mass behind the certificate of A-1, put right and reviewed; the number of that certificate."""
    done(line, *WRONG_MASS, by=(ANALYST, APPROVER))
    good(line("run", "submit", "R-00001", "R-00002", "--json", by=(ANALYST,)))
    good(line("run", "accept", "R-00001", "R-00002", "--json", by=(REVIEWER,)))
    return number_of(line, "A-1")


def issued(line: Line, number: str) -> dict[str, Any]:
    good(line("certificate", "approve", number, "--json", by=(APPROVER,)))
    return good(line("certificate", "release", number, "--json", by=(SECOND_APPROVER,)))


def delivered(line: Line) -> list[dict[str, str]]:
    """The rows of the next delivery by canonical field; none where nothing is new. They count as sent afterwards."""
    rows: dict[int, dict[str, str]] = {}
    for cell in good(line("export", "preview", "comma-utf8", "--json", by=(APPROVER,)))["cells"]:
        rows.setdefault(cell["row"], {})[cell["field"]] = cell["text"]
    said = good(line("export", "run", "comma-utf8", "--json", by=(APPROVER,)))
    assert said["new_rows"] == len(rows)
    for file in (one["file"] for one in said["deliveries"]):
        with Path(file).open(encoding="utf-8", newline="") as lines:
            assert len(list(csv.reader(lines))) == 1 + len(rows)
    return list(rows.values())


def page_text(line: Line, number: str) -> str:
    """The text of a sealed file, pages after each other."""
    opened = open_certificate((line.site / "certificates" / f"{number}.pdf").read_bytes(), frozenset(trusted(line)))
    assert isinstance(opened, SealedPdf)
    return "\n".join(opened.pages)


def trusted(line: Line) -> list[str]:
    trust = read_trust(json.loads((line.site / "trust.json").read_text()))
    assert isinstance(trust, Trust)
    return [*trust.fingerprints]


@pytest.mark.clause("17025 7.8.8", "17025 7.8.1.2")
def test_an_amendment_replaces_marks_and_tells(line: Line) -> None:
    first = corrected(line)
    kept = (line.site / "certificates" / f"{first}.pdf").read_bytes()
    good(line("certificate", "sent", first, "--to", "J. Reed, purchasing", "--how", "mail", "--json", by=(ANALYST,)))
    drafted = good(line("certificate", "amend", first, "--reason", WHY, "--json", by=(ANALYST,)))
    number = str(drafted["number"])
    assert (number, drafted["replaces"]) == (f"{first}-A1", first)
    assert drafted["changes"] == 4  # two results, and how far their portions are apart
    assert certificates(line)[first]["state"] == "released"  # until the amendment is released itself
    told = issued(line, number)
    assert told["state"] == "released"
    rows = certificates(line)
    assert (rows[first]["state"], rows[number]["state"], rows[number]["kind"]) == (
        "superseded",
        "released",
        "amendment",
    )
    assert (line.site / "certificates" / f"{first}.pdf").read_bytes() == kept
    files = tuple(str(line.site / "certificates" / f"{each}.pdf") for each in (first, number))
    short = line("verify", *files)
    assert short.code == 0, short.out
    each_file, counted = short.out.splitlines()[:-1], short.out.splitlines()[-1]
    assert [said.split()[:2] for said in each_file] == [["GENUINE", f"{file}:"] for file in files]
    assert counted.startswith("2 files: 2 GENUINE; trust from ")
    bad = line.site / "certificates" / "changed.pdf"
    bad.write_bytes(kept.replace(b"%%EOF", b"%%EOG", 1))
    mixed = line("verify", files[0], str(bad), "--language", "de")
    assert mixed.code == 6
    bad.unlink()
    assert mixed.out.splitlines()[1].startswith(f"ALTERED  {bad}: Siegel: ")
    assert mixed.out.splitlines()[2] == "ALTERED", "explained whole, for it is not genuine"
    assert mixed.out.splitlines()[-1].startswith("2 Dateien: 1 GENUINE, 1 ALTERED; ")
    checked = line("verify", *files, "-v")
    assert checked.code == 0, checked.out
    assert checked.out.count("drawn again: not asked for; --redraw does") == 2
    assert f"4 texts differ from {first}, as marked" in checked.out
    shown = good(line("certificate", "show", first, "--json", by=(ANALYST,)))
    assert [(one["number"], one["state"]) for one in shown["series"]] == [(number, "released")]
    assert shown["to_tell"] == [CUSTOMER, "J. Reed, purchasing"]
    assert "holders to tell 2" in line("status", by=(ANALYST,)).out
    assert whole(line)


@pytest.mark.clause("17025 7.8.8")
def test_an_amendment_says_on_its_page_what_stood_where(line: Line) -> None:
    first = corrected(line)
    number = str(good(line("certificate", "amend", first, "--reason", WHY, "--json", by=(ANALYST,)))["number"])
    issued(line, number)
    text = page_text(line, number)
    before = page_text(line, first)
    assert f"Amends and replaces certificate {first}: {WHY}." in text
    assert text.count(f"Changed against {first}.") == 2
    assert f"What changed against certificate {first}" in text
    zinc = next(row for row in before.splitlines() if row.startswith("Zinc of claim"))
    value = zinc.split("±")[0].split()[-1]
    assert value in text.split("What changed against")[1]
    assert "Amends" not in before


def test_what_a_receiver_is_sent(line: Line) -> None:
    """Corrected values come as the next revision of the same result; those left alone too, since they were issued."""
    first = corrected(line)
    delivered(line)
    number = str(good(line("certificate", "amend", first, "--reason", WHY, "--json", by=(ANALYST,)))["number"])
    assert delivered(line) == []
    issued(line, number)
    rows = delivered(line)
    assert {(row["revision"], row["change_kind"], row["change_reason"]) for row in rows} == {("2", "corrected", WHY)}
    assert {row["certificate_no"] for row in rows} == {number}
    good(line("certificate", "withdraw", number, "--reason", "another lot", "--json", by=(APPROVER,)))
    gone = delivered(line)
    assert {(row["revision"], row["change_kind"], row["change_reason"]) for row in gone} == {
        ("3", "withdrawn", "another lot")
    }
    assert {row["result_id"] for row in gone} == {row["result_id"] for row in rows}
    assert {row["value_text"] for row in gone} == {""}
    assert delivered(line) == []


def test_somebody_with_an_odd_name_can_be_told(line: Line, monkeypatch: pytest.MonkeyPatch) -> None:
    number = number_of(line, "A-1")
    good(line("certificate", "withdraw", number, "--reason", "another lot", "--json", by=(APPROVER,)))
    told = ("certificate", "told", number, "--how", "mail", "--to")
    names = ["Ardlea  Works", "Ardlea\u00a0Works", "\u202bArdlea\u202c", "A" * 300]
    monkeypatch.setattr(recipients, "holders", lambda _view, _number: names)
    refused(line(*told, "Ard", by=(ANALYST,)), "certificate.recipient-unknown")
    for name in names:
        assert good(line(*told, name, "--json", by=(ANALYST,)))["to"] == name
    assert good(line("certificate", "show", number, "--json", by=(ANALYST,)))["to_tell"] == []


@pytest.mark.clause("17025 7.8.8")
def test_a_withdrawn_certificate_and_its_holders(line: Line) -> None:
    number = number_of(line, "A-1")
    refused(
        line("certificate", "told", number, "--to", CUSTOMER, "--how", "mail", by=(ANALYST,)), "certificate.in-force"
    )
    said = line("certificate", "withdraw", number, "--reason", "the sample was of another lot", by=(APPROVER,))
    assert said.code == 0, said.err
    assert f"tell: {CUSTOMER}" in said.out
    refused(
        line("certificate", "told", number, "--to", "somebody else", "--how", "mail", by=(ANALYST,)),
        "certificate.recipient-unknown",
    )
    told = good(line("certificate", "told", number, "--to", CUSTOMER, "--how", "by letter", "--json", by=(ANALYST,)))
    assert told["left"] == []
    good(line("certificate", "sent", number, "--to", "an inspector", "--how", "at her wish", "--json", by=(ANALYST,)))
    changed = good(line("certificate", "list", "--changed", "--json", by=(ANALYST,)))["certificates"]
    assert [(one["number"], one["state"], one["why"], one["to be told"]) for one in changed] == [
        (number, "withdrawn", "the sample was of another lot", "an inspector")
    ]
    for act in ("withdraw", "supplement", "justify"):
        refused(line("certificate", act, number, "--reason", "again", by=(APPROVER,)), "certificate.wrong-state")
    refused(line("certificate", "draft", "A-1", by=(ANALYST,)), "certificate.already")
    assert line("verify", str(line.site / "certificates" / f"{number}.pdf")).out.startswith("GENUINE")
    assert whole(line)


def test_a_withdrawn_certificate_is_replaced_and_stays_withdrawn(line: Line, tmp_path: Path) -> None:
    first = corrected(line)
    good(line("certificate", "withdraw", first, "--reason", "a wrong mass", "--json", by=(APPROVER,)))
    number = str(good(line("certificate", "amend", first, "--reason", WHY, "--json", by=(ANALYST,)))["number"])
    issued(line, number)
    rows = certificates(line)
    assert (rows[first]["state"], rows[number]["state"]) == ("withdrawn", "released")
    again = line("certificate", "amend", first, "--reason", WHY, by=(ANALYST,))
    refused(again, "certificate.already")  # else two would report the same results
    status = tmp_path / "status.json"
    good(line("certificate", "status-file", "--out", str(status), "--json", by=(ANALYST,)))
    file = str(line.site / "certificates" / f"{first}.pdf")
    said = line("verify", file, "--status", str(status), "--json").json["certificates"][0]["standing"]["said"]
    by = line.rows(f"SELECT sealed FROM certificate WHERE number = '{number}'")[0][0]  # noqa: S608
    assert f"replaced by the file with SHA-256 {by}" in said
    assert {(row["revision"], row["change_kind"]) for row in delivered(line) if row["lot_id"] == "A-1"} == {
        ("2", "withdrawn"),
        ("3", "corrected"),
    }
    assert whole(line)


def test_the_trail_says_what_superseded_a_certificate(line: Line, tmp_path: Path) -> None:
    first = corrected(line)
    number = str(good(line("certificate", "amend", first, "--reason", WHY, "--json", by=(ANALYST,)))["number"])
    issued(line, number)
    out = tmp_path / "trail"
    assert line("report", "trail", f"certificate/{first}", "--out", str(out), by=(REVIEWER,)).code == 0
    with pikepdf.open(out / "trail.pdf") as pages:
        assert f"replaced by {number}" in " ".join(" ".join(page_texts(pages)).split())


def test_one_withdrawn_by_mistake_is_issued_again_with_a_comment(line: Line) -> None:
    first = number_of(line, "A-1")
    amend = ("certificate", "amend", first, "--reason", "it was withdrawn by mistake")
    same = line(*amend, by=(ANALYST,))
    refused(same, "certificate.nothing-changed")
    assert "justify" not in same.err  # nothing was corrected: that is refused too
    good(line("certificate", "withdraw", first, "--reason", "a slip", "--json", by=(APPROVER,)))
    told = line(*amend, by=(ANALYST,))
    refused(told, "certificate.nothing-changed")
    assert "--comment" in told.err
    assert "justify" not in told.err
    again = (*amend, "--comment", f"Issued again: the results of {first} were right.")
    number = str(good(line(*again, "--json", by=(ANALYST,)))["number"])
    issued(line, number)
    assert line("verify", str(line.site / "certificates" / f"{number}.pdf")).out.startswith("GENUINE")
    assert {n: row["state"] for n, row in certificates(line).items() if n in {first, number}} == {
        first: "withdrawn",
        number: "released",
    }
    assert whole(line)


@pytest.mark.refuses("17025 7.8.8")
def test_what_is_not_amended(line: Line) -> None:
    first = number_of(line, "A-1")
    amend = ("certificate", "amend", first, "--reason")
    before = line.kept()
    refused(line(*amend, "for no cause", by=(ANALYST,)), "certificate.nothing-changed")
    refused(line(*amend, " ", by=(ANALYST,)), "act.reason")
    refused(line("certificate", "amend", "C-1999-00001", "--reason", "x", by=(ANALYST,)), "certificate.unknown")
    refused(line("certificate", "supplement", first, "--reason", "x", by=(ANALYST,)), "certificate.nothing-to-add")
    refused(line("certificate", "withdraw", first, "--reason", "x", by=(REVIEWER,)), "act.role")
    refused(line("certificate", "withdraw", first, "--reason", " ", by=(APPROVER,)), "act.reason")
    refused(line("certificate", "sent", first, "--to", " ", "--how", "x", by=(ANALYST,)), "certificate.recipient")
    for reason in ("-wrong lot", "a\x1b[31mred", "\u202ebackwards", "w" * 1001):  # no delivery could carry them
        refused(line("certificate", "withdraw", first, "--reason", reason, by=(APPROVER,)), "certificate.reason")
        refused(line(*amend, reason, by=(ANALYST,)), "certificate.reason")
    assert line.kept() == before
    corrected(line)
    number = str(good(line(*amend, WHY, "--json", by=(ANALYST,)))["number"])
    refused(line(*amend, WHY, by=(ANALYST,)), "certificate.already")
    good(line("certificate", "discard", number, "--reason", "again", "--json", by=(ANALYST,)))
    second = str(good(line(*amend, WHY, "--json", by=(ANALYST,)))["number"])
    assert second == f"{first}-A2"  # a number once given is not given again
    issued(line, second)
    refused(line(*amend, WHY, by=(ANALYST,)), "certificate.wrong-state")  # the last of the series is amended
    refused(line("certificate", "discard", second, "--reason", "x", by=(ANALYST,)), "certificate.wrong-state")


@pytest.mark.refuses("17025 7.8.8", "P11 11.10(e)")
def test_an_amendment_of_what_was_withdrawn_meanwhile_is_drafted_again(line: Line) -> None:
    """The amendment was to replace a certificate in force beside a second run of events."""
    first = corrected(line)
    number = str(good(line("certificate", "amend", first, "--reason", WHY, "--json", by=(ANALYST,)))["number"])
    good(line("certificate", "approve", number, "--json", by=(APPROVER,)))
    good(line("certificate", "withdraw", first, "--reason", "a wrong mass", "--json", by=(APPROVER,)))
    issued_now = good(line("certificate", "release", number, "--json", by=(SECOND_APPROVER,)))
    assert issued_now["state"] == "released"  # it still says truly what it replaces
    assert certificates(line)[first]["state"] == "withdrawn"
    assert whole(line)


# ------------------------------------------------------------------ what is ordered later


def file_of(line: Line, name: str, text: str) -> str:
    path = line.site / "inbox" / name
    path.write_bytes(text.encode(PAGE_PRINT if name.endswith(".txt") else "utf-8"))
    return str(path)


def in_force(line: Line, name: str, text: str) -> None:
    (added,) = good(line("document", "add", file_of(line, name, text), "--json", by=(TRACE_ANALYST,)))["documents"]
    good(line("document", "approve", f"{added['kind']}/{added['id']}", "--json", by=(APPROVER,)))


def with_nickel(requirements: str = "") -> str:
    """The lozenge's specification as agreed again: nickel stands in it, or what is given instead."""
    head, _, lines = starter("specifications/mineral-lozenge.yaml").partition("requirements:\n")
    lead = lines.split("  - element: ")[3]
    nickel = f"  - element: {lead}".replace("Pb", "Ni", 1).replace("lead-furnace", "nickel-furnace")
    return f"{head}requirements:\n{lines}{nickel.replace('PDE 5', 'PDE 220')}{requirements}"


def test_lines_that_were_withdrawn_are_not_withdrawn_again(line: Line) -> None:
    """The withdrawn certificate is replaced by the version of the specification without zinc: one revision in all."""
    first = corrected(line)
    delivered(line)
    good(line("certificate", "withdraw", first, "--reason", "a wrong mass", "--json", by=(APPROVER,)))
    assert certificates(line)[first]["flag"] == ""
    head, _, lines = starter("specifications/mineral-lozenge.yaml").partition("requirements:\n")
    without_zinc = "  - element: ".join(["", *lines.split("  - element: ")[2:]])
    in_force(line, "lozenge.yaml", f"{head}requirements:\n{without_zinc}")
    judged_again(line)
    number = str(good(line("certificate", "amend", first, "--reason", WHY, "--json", by=(ANALYST,)))["number"])
    issued(line, number)
    rows = [row for row in delivered(line) if row["lot_id"] == "A-1"]
    of_zinc = [(row["revision"], row["change_kind"]) for row in rows if row["element_symbol"] == "Zn"]
    assert of_zinc == [("2", "withdrawn")]
    assert sum(row["change_kind"] == "corrected" for row in rows) == 5
    assert "Zinc, of claim" in page_text(line, number).split("What changed against")[1]
    assert whole(line)


def judged_again(line: Line) -> None:
    """The runs of the lozenges by what is in force now, reviewed."""
    for run in ("R-00001", "R-00002", "R-00003", "R-00004", "R-00005", "R-00006", "R-00007"):
        by = ANALYST if run < "R-00003" else TRACE_ANALYST
        done(line, "run", "rejudge", run, "--reason", "the specification was agreed again", by=(by, APPROVER))
        good(line("run", "submit", run, "--json", by=(by,)))
        good(line("run", "accept", run, "--json", by=(REVIEWER,)))


def agreed(line: Line, requirements: str = "") -> None:
    """A method for nickel, and the specification that asks for it, in force."""
    in_force(line, "nickel.yaml", of_nickel(starter("methods/lead-furnace.yaml")))
    in_force(line, "lozenge.yaml", with_nickel(requirements))


def nickel_measured(line: Line) -> str:
    """Nickel of the digests that were kept: a method, standards, a sheet and a file made of those for lead."""
    standards = [row for row in line.inbox("standards.csv").read_text().splitlines() if ",Pb," in row]
    head = line.inbox("standards.csv").read_text().splitlines()[0]
    lots = "\n".join((head, *standards, "")).replace("Pb", "Ni")
    good(line("standard", "add", file_of(line, "nickel-standards.csv", lots), "--json", by=(TRACE_ANALYST,)))
    sheet = line.inbox("preparation-trace.csv").read_text().replace("TR-01", "TR-02").replace("Pb Cd As Hg", "Ni")
    sheet = re.sub("As 5/50; Hg 5/100", "", sheet)
    sheet = re.sub(r"Pb ([0-9.]+); Cd [0-9.]+; As [0-9.]+; Hg [0-9.]+", r"Ni \1", sheet)
    prepared = file_of(line, "preparation-nickel.csv", sheet)
    text = of_nickel(line.inbox("furnace-lead-second.txt").read_bytes().decode(PAGE_PRINT))
    file = file_of(line, "furnace-nickel.txt", read_anew(text.replace("PB-FURNACE", "NI-FURNACE")))
    said = good(line("ingest", file, "--preparation", prepared, "--json", by=(TRACE_ANALYST,)))
    (run,) = said["files"][0]["runs"]
    good(line("run", "submit", run, "--json", by=(TRACE_ANALYST,)))
    good(line("run", "accept", run, "--json", by=(REVIEWER,)))
    return str(run)


def read_anew(text: str) -> str:
    """Every reading of the page print higher by 2 per cent, its means with it: readings of its own."""
    read: list[float] = []

    def higher(found: re.Match[str]) -> str:
        if found[1].strip() == "mean":
            value = sum(read) / len(read)
            read.clear()
        else:
            value = round(float(found[2]) * 1.02, 5)
            read.append(value)
        return f"{found[1]}{value:.5f}"

    return re.sub(r"( mean +| [0-9] +)(0\.[0-9]{5})\b", higher, text)


def of_nickel(text: str) -> str:
    for old, new in (
        ("lead-furnace", "nickel-furnace"),
        ("Pb", "Ni"),
        ("PB-FURNACE", "NI-FURNACE"),
        ("283.3", "232.0"),
    ):
        text = text.replace(old, new)
    return text.replace("Lead in digests", "Nickel in digests")


@pytest.mark.clause("17025 7.8.8")
def test_what_was_ordered_later_is_a_supplement(line: Line) -> None:
    first = number_of(line, "A-3")
    delivered(line)
    agreed(line)
    refused(line("certificate", "supplement", first, "--reason", "ordered", by=(ANALYST,)), "certificate.not-measured")
    run = nickel_measured(line)
    drafted = good(line("certificate", "supplement", first, "--reason", "nickel was ordered", "--json", by=(ANALYST,)))
    number = str(drafted["number"])
    assert (number, drafted["others"]) == (f"{first}-S1", [first])
    issued(line, number)
    rows = certificates(line)
    assert (rows[first]["state"], rows[number]["state"], rows[number]["kind"]) == ("released", "released", "supplement")
    text = page_text(line, number)
    assert f"Supplements certificate {first}: nickel was ordered." in text
    assert f"the others are reported by {first}." in text
    assert "Zinc" not in text
    assert run in text
    checked = line("verify", *(str(line.site / "certificates" / f"{each}.pdf") for each in (first, number)))
    assert checked.code == 0, checked.out
    sent = delivered(line)
    assert [(row["element_symbol"], row["change_kind"], row["revision"]) for row in sent] == [("Ni", "new", "1")]
    again = ("certificate", "supplement", first, "--reason", "again")
    refused(line(*again, by=(ANALYST,)), "certificate.nothing-to-add")
    assert whole(line)


@pytest.mark.refuses("17025 7.8.8")
def test_a_supplement_beside_what_is_no_longer_in_force_is_drafted_again(line: Line) -> None:
    first = number_of(line, "A-3")
    agreed(line)
    nickel_measured(line)
    number = str(good(line("certificate", "supplement", first, "--reason", "x", "--json", by=(ANALYST,)))["number"])
    good(line("certificate", "approve", number, "--json", by=(APPROVER,)))
    told = line("certificate", "withdraw", first, "--reason", "a wrong mass", by=(APPROVER,))
    assert told.code == 0
    refused(line("certificate", "release", number, by=(SECOND_APPROVER,)), "certificate.series-changed")
    good(line("certificate", "return", number, "--reason", "the first is withdrawn", "--json", by=(APPROVER,)))
    refused(line("certificate", "approve", number, by=(APPROVER,)), "certificate.series-changed")


def test_a_supplement_is_amended_beside_the_first_and_never_alone(line: Line) -> None:
    first = number_of(line, "A-3")
    agreed(line)
    nickel_measured(line)
    number = str(good(line("certificate", "supplement", first, "--reason", "x", "--json", by=(ANALYST,)))["number"])
    issued(line, number)
    wrong = ("preparation", "correct", "TR-02/T-A3/1", "--set", "mass_g=0.4524", "--reason", "read wrongly")
    done(line, *wrong, by=(TRACE_ANALYST, APPROVER))
    (run,) = line.rows("SELECT run FROM run WHERE method LIKE 'nickel%'")[0]
    good(line("run", "submit", run, "--json", by=(TRACE_ANALYST,)))
    good(line("run", "accept", run, "--json", by=(REVIEWER,)))
    amended = good(line("certificate", "amend", number, "--reason", WHY, "--json", by=(ANALYST,)))
    assert amended["number"] == f"{first}-A1"
    issued(line, str(amended["number"]))
    assert certificates(line)[first]["state"] == "released"
    assert f"the others are reported by {first}." in page_text(line, str(amended["number"]))
    done(line, *(word.replace("0.4524", "0.4624") for word in wrong), by=(TRACE_ANALYST, APPROVER))
    good(line("run", "submit", run, "--json", by=(TRACE_ANALYST,)))
    good(line("run", "accept", run, "--json", by=(REVIEWER,)))
    good(line("certificate", "withdraw", first, "--reason", "another lot", "--json", by=(APPROVER,)))
    alone = line("certificate", "amend", str(amended["number"]), "--reason", WHY, by=(ANALYST,))
    refused(alone, "certificate.series-withdrawn")
    more = line("certificate", "supplement", str(amended["number"]), "--reason", "the rest", by=(ANALYST,))
    refused(more, "certificate.series-withdrawn")  # what was withdrawn is amended, and so is named


@pytest.mark.refuses("17025 7.8.8")
def test_a_sum_of_what_was_and_was_not_reported_is_no_supplement(line: Line) -> None:
    first = number_of(line, "A-3")
    total = (
        "sums:\n  - {id: pb-ni, elements: [Pb, Ni], quantity: content, unit: ug/g, bound: upper_bound, upper: '5.0',\n"
        "     rule: simple, rounding: half_up, decimals: 1, exceedance_means: report,\n"
        "     limit_source: 'house limit, invented'}\n"
    )
    agreed(line, total)
    nickel_measured(line)
    refused(line("certificate", "supplement", first, "--reason", "x", by=(ANALYST,)), "certificate.sum-across")
    judged_again(line)
    amend = ("certificate", "amend", first, "--reason", WHY, "--comment", "weighed", "--json")
    number = str(good(line(*amend, by=(ANALYST,)))["number"])  # nothing else is in force: it reports all
    issued(line, number)
    text = page_text(line, number)
    assert f"Not in {first}." in text
    assert text.count("Nickel") >= 2
    checked = line("verify", str(line.site / "certificates" / f"{number}.pdf"))
    assert checked.code == 0, checked.out
    put_out = line.rows(f"SELECT change_kind, count(*) FROM released WHERE number = '{number}' GROUP BY 1")  # noqa: S608
    assert dict(put_out) == {"corrected": 6, "new": 2}  # nickel and the sum
    assert whole(line)


# ------------------------------------------------------------------ what a holder can find out


@pytest.mark.clause("17025 7.8.8")
def test_a_holder_learns_what_became_of_a_certificate(line: Line, tmp_path: Path) -> None:
    first = corrected(line)
    gone = number_of(line, "B-1")
    other = good(line("certificate", "amend", first, "--reason", WHY, "--json", by=(ANALYST,)))["number"]
    early = tmp_path / "early.json"
    good(line("certificate", "status-file", "--out", str(early), "--json", by=(ANALYST,)))
    issued(line, other)
    good(line("certificate", "withdraw", gone, "--reason", "another lot", "--json", by=(APPROVER,)))
    late = tmp_path / "late.json"
    told = line("certificate", "status-file", "--out", str(late), by=(ANALYST,))
    assert "2 in force, 1 superseded, 1 withdrawn" in told.out
    files = [str(line.site / "certificates" / f"{number}.pdf") for number in (first, other, gone)]
    answers = [line("verify", file, "--status", str(late), "--json") for file in files]
    assert [(one.code, one.json["certificates"][0]["standing"]["word"]) for one in answers] == [
        (10, "superseded"),
        (0, "in force"),
        (10, "withdrawn"),
    ]
    assert all(one.json["certificates"][0]["word"] == "GENUINE" for one in answers)
    plain = line("verify", files[2], "--status", str(late))
    assert plain.out.splitlines()[1].strip().startswith("WITHDRAWN: since ")
    assert line("verify", files[0], "--status", str(early)).code == 0  # as it was then
    unknown = line("verify", files[1], "--status", str(early), "--json")
    assert (unknown.code, unknown.json["certificates"][0]["standing"]["word"]) == (3, "not named")


def test_a_status_file_tells_nothing_of_other_customers(line: Line, tmp_path: Path) -> None:
    everybody, own = tmp_path / "all.json", tmp_path / "own.json"
    good(line("certificate", "status-file", "--out", str(everybody), "--json", by=(ANALYST,)))
    assert "C-20" not in everybody.read_text()
    good(line("certificate", "status-file", "--customer", "ardlea", "--out", str(own), "--json", by=(ANALYST,)))
    listed = json.loads(own.read_text())["certificates"]
    numbers = {row[0] for row in line.rows("SELECT number FROM certificate WHERE customer = 'ardlea'")}
    assert {one["number"] for one in listed} == numbers
    assert "corrigan" not in own.read_text()
    refused(
        line("certificate", "status-file", "--customer", "nobody", "--out", str(own), by=(ANALYST,)),
        "recipient.unknown",
    )
    own.write_text(own.read_text().replace("in force", "withdrawn"))
    number = number_of(line, "A-1")
    file = str(line.site / "certificates" / f"{number}.pdf")
    altered = line("verify", file, "--status", str(own))
    assert altered.code == 3
    refused(altered, "verify.status")
