"""A laboratory's own template lays out: whatever changes, moves, hides or adds a word is refused by name."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from tools.template_digests import table

from benchseal import shipped, shipped_templates
from benchseal.certificate.read_pdf import open_certificate
from benchseal.certificate.trial import invented, trial_pages
from benchseal.problems import Stopped
from benchseal.records.certificate_template import CertificateTemplate
from benchseal.records.shape import record_bytes

if TYPE_CHECKING:
    from benchseal.problems import Problem

BODY = shipped.template("certificate_body.html.jinja")


def tried(page: str = "", style: str = "") -> bytes | tuple[Problem, ...]:
    return trial_pages(CertificateTemplate("certificate_template", "CERTIFICATE", "tried", page, style))


def refused(page: str = "", style: str = "") -> str:
    found = tried(page, style)
    assert not isinstance(found, bytes)
    assert {one.code for one in found} == {"certificate.template-differs"}
    return " ".join(one.what for one in found)


def changed(before: str, after: str) -> str:
    assert before in BODY, "the sample would change nothing"
    return BODY.replace(before, after)


def test_the_invented_certificate_is_read_as_it_was_sealed() -> None:
    evidence, supplement = invented()
    assert hashlib.sha256(record_bytes(evidence)).hexdigest() == supplement.evidence_sha256


@pytest.mark.clause("P11 11.10(k)")
def test_looks_and_blocks_are_the_laboratorys() -> None:
    style = ".found { border-top: 1pt solid #1f5560; padding-top: 3mm } .results td { font-size: 10pt }"
    page = changed('<section class="found">', '<section class="found"><div class="own">').replace(
        "</section>", "</div></section>", 1
    )
    made = tried(page, style)
    assert isinstance(made, bytes)
    assert made != tried()
    assert not isinstance(open_certificate(made, set()), bytes)


@pytest.mark.refuses("17025 7.8.2.1")
@pytest.mark.parametrize(
    "changes",
    [
        [
            (
                "{{ row.value }}",
                "{{ row.value | replace('0', '1') }}",
                "results 2, value: the pages do not say '100.7'",
            ),
            ('{{ fact(say("label/lot"), view.item.lot) }}', "", "item, lot"),
            ("{{ view.conformity.decision_rule }}", "-", "conformity, decision_rule"),
            ("{% if picture %}{{ figures.calibration(picture) }}{% endif %}", "", "its figures"),
        ],
        [("{{ row.value }}", "", "results 2, value")],
        [("{{ view.uncertainty }}", "{{ view.uncertainty }} All is well.", "page 1 says")],
    ],
    ids=["altered, dropped and replaced", "dropped", "added"],
)
def test_what_a_page_may_not_do(changes: list[tuple[str, str, str]]) -> None:
    """All of it is told at once. Rules that need no paper are tried in test_layout_rules.py."""
    page = BODY
    for before, after, _ in changes:
        assert before in page, "the sample would change nothing"
        page = page.replace(before, after)
    told = refused(page)
    assert [said for *_, said in changes if said not in told] == []


@pytest.mark.refuses("17025 7.8.2.1")
@pytest.mark.parametrize(
    ("style", "said"),
    [
        (".across { display: none }", "DRAFT does not stand across it"),
        ("h1 { display: none } .results tr { position: relative; top: -5mm }", "position"),
        (".results { color: #fff }", "not seen"),
        (".results td { font-size: 2pt }", "points high"),
    ],
)
def test_what_a_style_may_not_do(style: str, said: str) -> None:
    assert said in refused(style=style)


def test_a_style_fetches_nothing() -> None:
    assert refused(style="@import url(https://a.b/c); .found { background-color: url(https://example.org/x) }")


def test_the_table_of_digests_is_that_of_the_files() -> None:
    """Mends itself by ``tools/template_digests.py``."""
    assert Path(shipped_templates.__file__).read_text(encoding="utf-8") == table()
    assert shipped.changed_templates() == ()


@pytest.mark.refuses("P11 11.10(a)")
@pytest.mark.parametrize("name", ["certificate.css", "withdrawal.html.jinja", "fonts/SourceSans3-Regular.ttf"])
def test_a_template_changed_on_disk_is_refused(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for one in shipped_templates.SHA256:
        place = tmp_path / "report_templates" / one
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(shipped.template_bytes(one))
    monkeypatch.setattr(shipped, "_home", lambda: tmp_path)
    assert shipped.template_bytes(name)
    assert shipped.changed_templates() == ()
    place = tmp_path / "report_templates" / name
    place.write_bytes(place.read_bytes() + b" ")
    with pytest.raises(Stopped) as stopped:
        shipped.template_bytes(name)
    assert [(one.code, one.where) for one in stopped.value.notices] == [
        ("paper.template-changed", f"report_templates/{name}")
    ]
    assert shipped.changed_templates() == (name,)
    place.unlink()
    assert shipped.changed_templates() == (name,)
