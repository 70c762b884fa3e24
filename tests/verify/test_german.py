"""The report in German: every sentence the looks say has one, with the same places; words of record stay."""

from __future__ import annotations

import ast
import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from tests.verify.making import Plan, make
from tests.verify.test_contents import report_on

from benchseal.certificate import conclude
from benchseal.verify import certificate, notice, page
from benchseal.verify.german import german_lines, in_german
from benchseal.verify.german_sentences import CHECKS, SENTENCES
from benchseal.verify.report import Report

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOM = Path(certificate.__file__).parent
SAYING = (
    *(ROOM / f"{name}.py" for name in (
        "certificate", "contents", "page", "parts", "people", "held", "recompute", "sums", "opinions", "exceptions",
        "language", "sealing_key", "notice", "notice_lines", "redraw",
    )),
    *(Path(page.__file__).parents[1] / "certificate" / name for name in ("read_pdf.py", "seal_bytes.py")),
)  # fmt: skip
# Sentences put together from parts of one: what stands for them in a report is tried below.
_PARTS = {
    "{}: {}": "a prefix and a sentence, by the lines of such prefixes",
    "{}{} {}": "words of a finding, after each other",
}


def _text(node: ast.AST) -> str:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values)
    return ""


def _sentences(path: Path) -> Iterator[str]:
    """What a module can say: every text that ends as a sentence does and is no docstring or part of another."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    apart = {id(inner) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for inner in ast.walk(node)} - {
        id(node) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr)
    }
    apart |= {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        text = _text(node)
        if id(node) not in apart and text.endswith(".") and " " in text and text not in _PARTS:
            yield text


EVERY = sorted({(path.stem, text) for path in SAYING for text in _sentences(path)})


def _filled(text: str) -> str:
    """A sentence with something in each of its places: what stands there in a report, where that is put into German."""
    known = {
        "drawn again here, {}:": "drawn again here, page 1, 2 has other instructions:",
        "{}, {}, and the laboratory does": (
            "certificate ab12 of TQ is revoked as from x (y), the seal states that it was made at z, after that day, "
            "and the laboratory does"
        ),
        "{}; {}; the laboratory confirms": (
            "certificate ab12 of TQ is revoked as from x (y); the seal states that it was made at z; the laboratory "
            "confirms"
        ),
        "{} and the specification are": "2 methods and the specification are",
        "{} come out again": "6 results and 2 sums come out again",
        "{} stand on the page": "6 results stand on the page",
        "{} is trusted.": "certificate ab12 of Tern Quay is trusted.",
        "{} ended at": "certificate ab12 of Tern Quay ended at",
        "{}; the laboratory confirms": "certificate ab12 of TQ is revoked as from x (y); the laboratory confirms",
        "{}, and the lab": "certificate ab12 of TQ is revoked as from x (y), and the lab",
        "{}, decimals after a {},": "German, decimals after a comma,",
        "title in {}, the": "title in German, the",
        "title in {}; the evidence names {}.": "title in English; the evidence names German.",
        "none: it is an {}.": "none: it is an original.",
        "none: it is a {}.": "none: it is a supplement.",
        "the row {} {}.": "the row 'Lead' does not stand on the page.",
        "{} solutions stand": "12 of 20 solutions stand",
        "{} is trusted for what it sealed up to entry {}; {},": (
            "certificate ab12 of TQ is trusted for what it sealed up to entry 4; the seal states that it was made at x,"
        ),
        "{}, and the trust file": "x saw the seal at y (policy 1.2, number 3), and the trust file",
        "{}; it may be of another time{}.": "it does not have the form of x (y); it may be of another time{}.",
        "{}, before {}, when the seal": "The time-stamp on the seal is of {}, before {}, when the seal",
        "{}; the sealing certificate": "The time-stamp on the seal is of {}; the sealing certificate",
        "{}from {} to {}.": (
            "The sealing certificate was not valid at {}, when the seal was made: it is valid from x to y."
        ),
        "The seal {}.": "The seal has a time-stamp it does not speak of.",
        "{}; the time-stamp": "certificate ab12 of TQ is revoked as from x (y); the time-stamp",
        "{} {}.": "p-ana both measured and reviewed.",
    }
    for place, filled in known.items():
        text = text.replace(place, filled)
    return text.replace("{}", "X7")


def test_the_sentences_were_found() -> None:
    assert len(EVERY) > 90


@pytest.mark.parametrize(("module", "text"), EVERY)
def test_every_sentence_has_a_german_one(module: str, text: str) -> None:
    filled = _filled(text)
    german = in_german(filled)
    assert german != filled, f"{module}: {text}"
    assert "{" not in german
    assert german.count("X7") == filled.count("X7")


@pytest.mark.parametrize(("english", "german"), SENTENCES.items())
def test_both_have_the_same_places(english: str, german: str) -> None:
    assert sorted(re.findall(r"\{[a-z_]+\}", english)) == sorted(re.findall(r"\{[a-z_]+\}", german))


@pytest.mark.parametrize(
    "found",
    ["page 2 has other instructions", "it has 3 pages instead of 2",
     "its pages have the same instructions, and what goes with them (type, tags, attachments) has other bytes"],
)  # fmt: skip
def test_what_differs_where_it_is_drawn_again(found: str) -> None:
    said = (
        f"drawn again here, {found}: another version of the program or its renderer drew it, or it was changed before "
        "sealing. It was made by benchseal 0.1.0: try that, as it was then."
    )
    german = in_german(said)
    assert german.startswith("hier neu gezeichnet, ")
    assert german.endswith("Sie wurde von benchseal 0.1.0 gemacht: nehmen Sie das, wie es damals war.")


def test_every_look_has_a_german_name() -> None:
    names = {look.name for look in certificate.LOOKS} | {"seal", "sealing key", "attachments", "evidence", "supplement"}
    names |= {"page form", "nothing else printed", "page drawn again", "time-stamp"}
    names |= {"notice", "proof"} | {name for name, _, _ in notice.LOOKS}
    assert CHECKS.keys() == names


@pytest.mark.parametrize("words", [conclude.COMPLIES, conclude.FAILS, conclude.NOT_ALL, conclude.NO_LIMITS])
def test_every_conclusion_of_record_has_german_words(words: str) -> None:
    assert in_german(f"{words}.") != f"{words}."


def test_a_genuine_report_says_nothing_in_english() -> None:
    report = report_on(make())
    word, means, *lines = german_lines(report)
    assert (word, means.split()[0]) == ("GENUINE", "(echt)")
    assert all(line.startswith("ja ") for line in lines)
    english = {check.said for check in report.checks}
    assert not any(said in line for said in english for line in lines)


def test_faults_are_told_one_by_one_and_what_they_quote_stays() -> None:
    genuine = make()
    (whole,) = genuine.pages()
    report = report_on(genuine, (whole.replace("0.249", "0,249").replace("Alder & Finch", "Other"),))
    lines = "\n".join(german_lines(report))
    assert "NEIN  gedruckte Zeilen: Pb: Die Zeile 'Lead total, as received 0.249" in lines
    assert "mit einem anderen Zeichen in einer Zahl." in lines
    assert "auf der Seite steht nicht: customer 'Alder & Finch Lozenges'." in lines


def test_faults_within_faults_are_told_in_german() -> None:
    made = make(Plan(evidence=lambda one: replace(one, signatures=(*one.signatures[:-1],))))
    lines = "\n".join(german_lines(report_on(made)))
    assert "niemand hat den Inhalt als genehmigt unterschrieben." in lines
    assert in_german("signature ab12cd34 of p-ana (approved): it is of ledger bs-1.") == (
        "Unterschrift ab12cd34 von p-ana (approved): sie ist aus Journal bs-1."
    )
    assert in_german("R-00001: Pb, content: stated is 1, the readings give 2.") == (
        "R-00001: Pb, content: Angegeben ist 1, die Messwerte ergeben 2."
    )


def test_a_sentence_nobody_put_into_german_stays() -> None:
    assert in_german("something else happened.") == "something else happened."
    assert german_lines(Report(()))[0] == "UNKNOWN"
