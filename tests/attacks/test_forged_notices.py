"""Forged notices of withdrawal, sealed with the laboratory's own key: none is accepted, each is named.

The notice is that of the played demonstration.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

import pikepdf
import pytest
from cryptography import x509
from tests.attacks.written import as_rendered
from tests.conftest import cheap_hashes

from benchseal.certificate import seal as sealing
from benchseal.certificate.withdrawal import NOTICE, PROOF, render_notice
from benchseal.demo.play import play
from benchseal.desk.founding import trust_of
from benchseal.desk.keys import open_seal_key
from benchseal.identity.keys import Hardness
from benchseal.records.canonical import digest
from benchseal.records.shape import read_record, record_bytes
from benchseal.records.withdrawal import NoticeProof, WithdrawalNotice
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.verify.report import Report

OPEN_PAGE = b"\n1 0 0 -1 0 841.889764 cm\n"


@dataclass(frozen=True)
class Insider:
    """The notice as it was made, what its readers trust, and the laboratory's own sealing key."""

    pdf: bytes
    notice: WithdrawalNotice
    proof: NoticeProof
    trust: Trust
    key: sealing.SealKey

    def made(self, **changes: Any) -> bytes:  # noqa: ANN401
        """The page of a changed notice, as the program would print it, not sealed."""
        told = record_bytes(replace(self.notice, **changes))
        page = render_notice(told, record_bytes(replace(self.proof, notice_sha256=digest(told))))
        assert isinstance(page, bytes), page
        return page

    def redone(self, change: Callable[[pikepdf.Pdf], None], **changes: Any) -> bytes:  # noqa: ANN401
        with pikepdf.open(io.BytesIO(self.made(**changes))) as pdf:
            change(pdf)
            return as_rendered(pdf)

    def judged(self, raw: bytes, reason: str = sealing.OF_NOTICE) -> Report:
        at = datetime.fromisoformat(self.notice.signature.statement.at)
        return verify_certificate(sealing.seal(raw, self.key, at, reason), self.trust)


@pytest.fixture(scope="module")
def insider(tmp_path_factory: pytest.TempPathFactory) -> Insider:
    folder = tmp_path_factory.mktemp("notices") / "site"
    done = play(folder, lambda _: None, hashes=cheap_hashes(), hardness=Hardness(1, 8, 1), later=True)
    trust = read_trust(trust_of(done.site))
    assert isinstance(trust, Trust)
    with done.site.store.reading() as view:
        name = view.rows("site")[0]["seal_key_id"]
    key = sealing.SealKey(
        open_seal_key(done.site.private, name), x509.load_der_x509_certificate(trust.seals[-1].certificate)
    )
    data = (done.site.certificates / f"{done.certificates[2]}-W.pdf").read_bytes()
    done.site.store.close()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        held = {name: spec.get_file().read_bytes() for name, spec in pdf.attachments.items()}
    notice, proof = read_record(WithdrawalNotice, held[NOTICE]), read_record(NoticeProof, held[PROOF])
    return Insider(data, notice, proof, trust, key)


def said(report: Report) -> str:
    return " ".join(check.line for check in report.checks if check.holds is not True)


def _words_more(beginning: bytes) -> Callable[[pikepdf.Pdf], None]:
    """A run of letters that stands on the page already, written once more below everything, in a part of its own."""

    def change(pdf: pikepdf.Pdf) -> None:
        content = pdf.pages[0].Contents
        data = content.read_bytes()
        end = data.rindex(b" TJ\n", 0, data.rindex(b"/Artifact"))
        begin = data.rindex(b"BT\n", 0, end)
        run = data[begin : data.index(b"ET", end) + 2].split(b"\n")
        run = [b"1 0 0 -1 68.03 1010 Tm" if line.endswith(b" Tm") else line for line in run]
        added = b"\nq\n0.75 0 0 0.75 0 0 cm\n" + beginning + b"\n0.1 0.1 0.1 rg\n" + b"\n".join(run) + b"\nEMC\nQ"
        content.write(data + added)

    return change


def _unread(pdf: pikepdf.Pdf) -> None:
    """What is printed of the results taken back is passed over where the page is read aloud."""
    content = pdf.pages[0].Contents
    part = re.compile(rb"(/Span\n<</MCID (\d+)>>\nBDC\n)(.*?)EMC\n", re.DOTALL)
    before = content.read_bytes()

    def passed_over(found: re.Match[bytes]) -> bytes:
        return found[1] + b"EMC\n/Artifact\nBMC\n" + found[3] + b"EMC\n" if 24 <= int(found[2]) <= 40 else found[0]

    content.write(part.sub(passed_over, before))
    assert content.read_bytes() != before


def _moved(pdf: pikepdf.Pdf) -> None:
    """The reason set below what follows it."""
    content = pdf.pages[0].Contents
    data = content.read_bytes()
    lines = data.split(b"\n")
    places = [at for at, line in enumerate(lines) if line.endswith(b" Tm")]
    first, second = places[20], places[30]
    lines[first], lines[second] = lines[second], lines[first]
    content.write(b"\n".join(lines))


def _number_elsewhere(pdf: pikepdf.Pdf) -> None:
    """The number of the first item beside another one."""
    content = pdf.pages[0].Contents
    lines = content.read_bytes().split(b"\n")
    last = [at for at, line in enumerate(lines) if line.endswith(b" Tm")][-8:-3]
    lines[last[0]], lines[last[1]] = lines[last[1]], lines[last[0]]
    content.write(b"\n".join(lines))


def _described(pdf: pikepdf.Pdf) -> None:
    for spec in pdf.Root.AF:
        spec.Desc = pikepdf.String("This withdrawal is taken back")


def test_without_a_lie_the_way_of_making_is_genuine(insider: Insider) -> None:
    assert verify_certificate(insider.pdf, insider.trust).word == "GENUINE"
    assert insider.judged(insider.made()).word == "GENUINE"
    assert insider.judged(insider.redone(lambda _: None)).word == "GENUINE"


@pytest.mark.refuses("17025 7.8.8", "P11 11.30")
@pytest.mark.parametrize(
    ("change", "words"),
    [
        pytest.param(
            _words_more(b"/Artifact\n<</Type /Pagination>>\nBDC"),
            "does not end with the notice's number",
            id="words more in the margin",
        ),
        pytest.param(_words_more(b"/Artifact\nBMC"), "as a decoration", id="words more, as a decoration"),
        pytest.param(_unread, "as a decoration", id="words not read aloud"),
        pytest.param(_moved, "another order", id="words moved"),
        pytest.param(_number_elsewhere, "the number of an item stands apart", id="a number elsewhere"),
        pytest.param(_described, "is described otherwise", id="attachments described otherwise"),
    ],
)
def test_a_page_made_otherwise_is_named(insider: Insider, change: Callable[[pikepdf.Pdf], None], words: str) -> None:
    report = insider.judged(insider.redone(change))
    assert report.word == "ALTERED", report.lines()
    assert words in said(report), report.lines()


@pytest.mark.refuses("17025 7.8.8", "P11 11.70")
def test_a_notice_told_otherwise_is_named(insider: Insider) -> None:
    """What a signed identifier or the trust file binds, although the page was printed to fit."""
    notice = insider.notice
    cases: tuple[tuple[dict[str, Any], str], ...] = (
        ({"sample": replace(notice.sample, sample="S-00005")}, "its identifier is that of another sample"),
        ({"lines": tuple(replace(one, substance="Nickel") for one in notice.lines)}, "or another result"),
        ({"laboratory": replace(notice.laboratory, name="Heron Ford Laboratory")}, "the trust file is of"),
    )
    for changes, words in cases:
        report = insider.judged(insider.made(**changes))
        assert report.word == "ALTERED", changes
        assert words in said(report)


def test_a_notice_of_another_wording_is_unknown(insider: Insider) -> None:
    """Only its numbers can be looked for, so nobody says that its sentences hold."""
    report = insider.judged(insider.made(wording=2))
    assert report.word == "UNKNOWN"
    assert "only the two numbers were looked for" in said(report)


def test_what_nobody_signed_is_the_laboratorys_word(insider: Insider) -> None:
    """The limit that the manual names: of the customer only the seal speaks."""
    report = insider.judged(insider.made(customer=replace(insider.notice.customer, name="Corrigan Drink Powders")))
    assert report.word == "GENUINE"


@pytest.mark.refuses("P11 11.30")
def test_a_notice_that_is_altered_is_judged_as_a_notice(insider: Insider) -> None:
    """It is not told what a certificate would have to be."""

    def acts(pdf: pikepdf.Pdf) -> None:
        pdf.Root.OpenAction = pikepdf.Dictionary({"/S": pikepdf.Name.Named, "/N": pikepdf.Name.Print})

    report = insider.judged(insider.redone(acts))
    assert report.word == "ALTERED"
    assert "/OpenAction" in said(report)
    for other in (insider.judged(insider.made(), sealing.OF_CERTIFICATE), report):
        assert "expected evidence.json" not in said(other)
        assert "due to say 'Seal of the laboratory on a released certificate'" not in said(other)
    assert "due to say 'Seal of the laboratory on a notice of withdrawal'" in said(
        insider.judged(insider.made(), sealing.OF_CERTIFICATE)
    )
