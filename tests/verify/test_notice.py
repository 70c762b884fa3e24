"""Lies in a notice of withdrawal, each found by the look that is there for it. The notice is the demo's own."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pikepdf
import pytest
from tests.conftest import cheap_hashes

from benchseal.certificate.page_flow import drawn_flow
from benchseal.certificate.page_text import page_texts
from benchseal.certificate.read_pdf import NOTICE_FILES, SealedPdf, open_certificate
from benchseal.certificate.withdrawal import notice_page, notice_problems, render_notice
from benchseal.demo.play import Played, play
from benchseal.desk.founding import trust_of
from benchseal.identity.keys import Hardness
from benchseal.records.canonical import digest
from benchseal.records.evidence import EntryProof
from benchseal.records.printed_form import USUAL_FORM, PrintedForm
from benchseal.records.shape import read_record, record_bytes
from benchseal.records.withdrawal import NoticeProof, WithdrawalNotice
from benchseal.verify.contents import Doubt
from benchseal.verify.notice import LOOKS, NoticeCase
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from collections.abc import Callable


@pytest.fixture(scope="module")
def true(tmp_path_factory: pytest.TempPathFactory) -> NoticeCase:
    folder = tmp_path_factory.mktemp("notice") / "site"
    done: Played = play(folder, lambda _: None, hashes=cheap_hashes(), hardness=Hardness(1, 8, 1), later=True)
    trust = read_trust(trust_of(done.site))
    assert isinstance(trust, Trust)
    data = (done.site.certificates / f"{done.certificates[2]}-W.pdf").read_bytes()
    done.site.store.close()
    opened = open_certificate(data, trust.fingerprints, files=NOTICE_FILES)
    assert isinstance(opened, SealedPdf)
    notice, proof = read_record(WithdrawalNotice, opened.evidence), read_record(NoticeProof, opened.supplement)
    return NoticeCase(notice, proof, digest(opened.evidence), opened.pages, trust, opened.flow)


GERMAN = PrintedForm("de", ",", "", "d. MMMM y")


def found(case: NoticeCase) -> dict[str, list[str]]:
    """Names of the looks that find something, with what."""
    said = {name: [str(fault) for fault in faults(case)] for name, faults, _ in LOOKS}
    return {name: faults for name, faults in said.items() if faults}


def withdrawal(**changes: Any) -> Callable[[NoticeCase], NoticeCase]:  # noqa: ANN401
    return lambda case: notice(withdrawal=replace(case.notice.withdrawal, **changes))(case)


def notice(**changes: Any) -> Callable[[NoticeCase], NoticeCase]:  # noqa: ANN401
    return lambda case: replace(case, notice=replace(case.notice, **changes))


def proof(**changes: Any) -> Callable[[NoticeCase], NoticeCase]:  # noqa: ANN401
    return lambda case: replace(case, proof=replace(case.proof, **changes))


def statement(**changes: Any) -> Callable[[NoticeCase], NoticeCase]:  # noqa: ANN401
    def lied(case: NoticeCase) -> NoticeCase:
        signed = case.notice.signature
        return notice(signature=replace(signed, statement=replace(signed.statement, **changes)))(case)

    return lied


def head(**changes: Any) -> Callable[[NoticeCase], NoticeCase]:  # noqa: ANN401
    return lambda case: proof(checkpoint=replace(case.proof.checkpoint, **changes))(case)


def entry(old: str, new: str) -> Callable[[NoticeCase], NoticeCase]:
    def lied(case: NoticeCase) -> NoticeCase:
        held = case.proof.entry
        assert old in held.body
        return proof(entry=EntryProof(held.body.replace(old, new), held.path))(case)

    return lied


def one_line_less(case: NoticeCase) -> NoticeCase:
    return notice(lines=case.notice.lines[1:])(case)


def one_value_less(case: NoticeCase) -> NoticeCase:
    return withdrawal(values=case.notice.withdrawal.values[1:])(case)


def other_words(case: NoticeCase) -> NoticeCase:
    """Every result named as another one, and so on the page too."""
    return notice(lines=tuple(replace(line, substance="Nickel") for line in case.notice.lines))(case)


def a_sum(case: NoticeCase) -> NoticeCase:
    """A result named as a sum of what nobody measures."""
    first, *others = case.notice.lines
    return notice(lines=(replace(first, substance="Sum of Xx and Yy"), *others))(case)


def another_basis(case: NoticeCase) -> NoticeCase:
    def dry(text: str) -> str:
        return text.replace("as received", "on dry basis")

    return notice(lines=tuple(replace(line, quantity=dry(line.quantity)) for line in case.notice.lines))(case)


def words_more(case: NoticeCase) -> NoticeCase:
    (page,) = case.flow.pages
    end = "EndofnoticeC-2026-00003-W"
    assert end in page
    return replace(case, flow=replace(case.flow, pages=(page.replace(end, f"Itistakenback.{end}"),)))


def a_number_less(case: NoticeCase) -> NoticeCase:
    (page,) = case.flow.pages
    assert "1.2.3.4.5." in page
    return replace(case, flow=replace(case.flow, pages=(page.replace("1.2.3.4.5.", "1.2.3.4."),)))


def another_page(case: NoticeCase) -> NoticeCase:
    return replace(case, pages=tuple(page.replace("another lot", "no lot") for page in case.pages))


LIES: tuple[tuple[str, Callable[[NoticeCase], NoticeCase], set[str]], ...] = (
    ("another certificate", withdrawal(certificate="C-2026-00001"), {"signature", "ledger entry", "printed words"}),
    ("another file", withdrawal(sealed="0" * 64), {"signature", "printed words"}),
    ("another reason", withdrawal(reason="none"), {"signature", "ledger entry", "printed words"}),
    ("a result less", one_value_less, {"signature", "results taken back", "ledger entry"}),
    ("nothing taken back", withdrawal(values=()), {"signature", "results taken back", "ledger entry"}),
    ("a result unnamed", one_line_less, {"results taken back"}),
    ("another number", notice(number="C-2026-00003-X"), {"signature", "printed words"}),
    ("another ledger", notice(ledger="bs-0000000000000000"), {"signature", "checkpoint", "printed words"}),
    ("another person", statement(person="p-sil.penhallow"), {"signature", "ledger entry"}),
    ("another role", statement(role="reviewer"), {"signature", "ledger entry", "printed words"}),
    ("another meaning", statement(meaning="approved"), {"signature", "ledger entry"}),
    ("another time", statement(at="2026-01-01T00:00:00.000Z"), {"signature", "ledger entry", "printed words"}),
    ("a proof of another", proof(notice_sha256="0" * 64), {"proof of this notice"}),
    ("an entry changed", entry("certificate.withdrawn", "certificate.released"), {"ledger entry"}),
    ("an entry of another reason", entry("another lot", "no lot at all"), {"ledger entry"}),
    ("a larger head", head(size=10**6), {"ledger entry", "checkpoint", "printed words"}),
    ("a head of another root", head(root="0" * 64), {"ledger entry", "checkpoint", "printed words"}),
    ("a head nobody signed", head(signature="00" * 64), {"checkpoint"}),
    ("another page", another_page, {"printed words"}),
    ("another language", notice(form=GERMAN), {"printed words"}),
    (
        "another sample",
        lambda case: notice(sample=replace(case.notice.sample, sample="S-00005"))(case),
        {
            "results taken back",
            "printed words",
            "nothing else printed",
        },
    ),
    ("results named as others", other_words, {"results taken back"}),
    ("a result named as a sum of no elements", a_sum, {"results taken back"}),
    ("results on another basis", another_basis, {"results taken back"}),
    (
        "another fraction",
        lambda case: notice(lines=tuple(replace(line, fraction="leached") for line in case.notice.lines))(case),
        {"results taken back"},
    ),
    (
        "another laboratory",
        lambda case: notice(laboratory=replace(case.notice.laboratory, name="Heron Ford Laboratory"))(case),
        {"laboratory", "nothing else printed"},
    ),
    ("words more", words_more, {"nothing else printed"}),
    ("a number of an item less", a_number_less, {"nothing else printed"}),
    (
        "another customer",
        lambda case: notice(customer=replace(case.notice.customer, name="Corrigan"))(case),
        {
            "printed words",
            "nothing else printed",
        },
    ),
)


def test_the_notice_itself_has_no_fault(true: NoticeCase) -> None:
    assert found(true) == {}


@pytest.mark.refuses("P11 11.70", "17025 7.8.8")
@pytest.mark.parametrize(("lie", "due"), [pytest.param(lie, due, id=name) for name, lie, due in LIES])
def test_each_lie_is_found(true: NoticeCase, lie: Callable[[NoticeCase], NoticeCase], due: set[str]) -> None:
    assert due <= set(found(lie(true)))


def test_a_lot_changed_in_the_notice_is_not_on_its_page(true: NoticeCase) -> None:
    row = replace(true.notice.sample.row, lot="A-9")
    told = notice(sample=replace(true.notice.sample, row=row))(true)
    assert set(found(told)) == {"printed words", "nothing else printed"}


@pytest.mark.refuses("17025 7.8.8")
def test_a_notice_of_another_wording_is_left_open(true: NoticeCase) -> None:
    """Its sentences cannot be compared, so nobody says that they hold."""
    other = notice(wording=99)(true)
    for name, faults, _ in LOOKS:
        said = list(faults(other))
        assert all(isinstance(one, Doubt) for one in said)
        assert bool(said) == (name in {"printed words", "nothing else printed"})
    gone = [fault for name, faults, _ in LOOKS for fault in faults(replace(other, pages=("",)))]
    assert [one for one in gone if isinstance(one, str)]


@pytest.mark.refuses("17025 7.8.8")
def test_a_notice_that_says_nothing_is_not_printed(true: NoticeCase) -> None:
    assert notice_problems(notice_page(true.notice, true.proof.checkpoint)) == ()
    for lie, where in (
        (withdrawal(reason=" "), "reason"),
        (notice(lines=()), "results taken back"),
        (notice(laboratory=replace(true.notice.laboratory, name="")), "laboratory"),
    ):
        told = lie(true)
        problems = notice_problems(notice_page(told.notice, told.proof.checkpoint))
        assert ("certificate.field-empty", where) in {(one.code, one.where) for one in problems}
        written = record_bytes(told.notice)
        made = render_notice(written, record_bytes(replace(told.proof, notice_sha256=digest(written))))
        assert isinstance(made, tuple)
    with pytest.raises(ValueError, match="another notice"):
        render_notice(record_bytes(true.notice), record_bytes(replace(true.proof, notice_sha256="0" * 64)))


def test_a_notice_is_printed_in_the_form_of_its_certificate(true: NoticeCase) -> None:
    """The words change, the record but for its form does not; English leaves the form out, as before there was one."""
    assert true.notice.form == USUAL_FORM
    assert b'"form"' not in record_bytes(true.notice)
    told = replace(true.notice, form=GERMAN)
    written = record_bytes(told)
    proof_of = replace(true.proof, notice_sha256=digest(written))
    made = render_notice(written, record_bytes(proof_of))
    assert isinstance(made, bytes)
    with pikepdf.open(io.BytesIO(made)) as pdf:
        assert str(pdf.Root.Lang) == "de"
        pages, flow = page_texts(pdf), drawn_flow(pdf)
    own = replace(true, notice=told, proof=proof_of, notice_sha256=digest(written), pages=pages, flow=flow)
    assert set(found(own)) == {"results taken back"}  # whose words here are English ones in a German page
    text = " ".join(" ".join(pages).split())
    assert f"Zertifikat {told.withdrawal.certificate} ist zurückgezogen." in text
    assert "Seite 1 von 1" in text
    kept = text.replace(told.withdrawal.reason, "").replace(told.laboratory.name, "")
    for english in ("withdrawn", "certificate ", "signature", "Customer", "page 1", "Stated", "laboratory"):
        assert english not in kept, english
