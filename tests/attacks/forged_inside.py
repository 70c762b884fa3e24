"""Forgeries by somebody inside who holds the sealing key: what is under the seal is false, and the seal holds.

What was prepared before sealing in the published families (see ``forged_outside``): shadow attacks, certification
attacks, hidden or active content. And what a rogue template or program would do to a certificate: another file inside,
another page, rows exchanged, a value altered, a factor changed.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

import pikepdf
from cryptography.hazmat.primitives.asymmetric import rsa
from pyhanko.sign.fields import MDPPerm, SigFieldSpec, SigSeedSubFilter
from tests.attacks.forged_outside import Attack
from tests.attacks.forging import named_like, printed

from benchseal.certificate.issue import render_certificate
from benchseal.certificate.render import evidence_and_supplement, render
from benchseal.records.results import Quantified
from benchseal.records.shape import record_bytes

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.attacks.forging import Forger

    from benchseal.certificate.view import CertificateView
    from benchseal.records.evidence import Evidence, Supplement


# ------------------------------------------------------------------ the seal made otherwise


def seal_told(**told: Any) -> Callable[[Forger], bytes]:  # noqa: ANN401  arguments of a library
    return lambda forger: forger.sealed_otherwise(**told)


def weak_key(forger: Forger) -> bytes:
    """2048 bits; the certificate is named like the laboratory's."""
    key = rsa.generate_private_key(65537, 2048)
    return forger.sealed_otherwise(key=key, certificate=named_like(forger.certificate, key))


def sealed_twice(forger: Forger) -> bytes:
    return forger.sealed_otherwise(forger.one.pdf, field="Second", certify=False, docmdp_permissions=MDPPerm.FILL_FORMS)


# ------------------------------------------------------------------ the page made otherwise


def redone(change: Callable[[pikepdf.Pdf], None]) -> Callable[[Forger], bytes]:
    return lambda forger: forger.redone(change)


def _note(pdf: pikepdf.Pdf, **told: object) -> pikepdf.Object:
    value = {"/Type": pikepdf.Name.Annot, "/Rect": [60, 500, 460, 540], "/F": 4, **told}
    return pdf.make_indirect(pikepdf.Dictionary(value))


def _free_text(pdf: pikepdf.Pdf) -> None:
    """Shadow, hide: an annotation over the value that is there before the seal."""
    text = {"/Subtype": pikepdf.Name.FreeText, "/Contents": "0.001", "/DA": "/Helv 12 Tf"}
    pdf.pages[0].Annots = pdf.make_indirect(pikepdf.Array([_note(pdf, **text)]))


def _field(pdf: pikepdf.Pdf) -> None:
    """Shadow, replace: a form field whose shown and stored value may differ."""
    told = {"/Subtype": pikepdf.Name.Widget, "/FT": pikepdf.Name.Tx, "/T": "value", "/V": "0.001"}
    field = _note(pdf, **told)
    pdf.pages[0].Annots = pdf.make_indirect(pikepdf.Array([field]))
    pdf.Root.AcroForm = pikepdf.Dictionary({"/Fields": [field]})


def _link(pdf: pikepdf.Pdf) -> None:
    action = pikepdf.Dictionary({"/S": pikepdf.Name.URI, "/URI": "https://example.invalid/"})
    link = _note(pdf, **{"/Subtype": pikepdf.Name.Link, "/A": action})
    pdf.pages[0].Annots = pdf.make_indirect(pikepdf.Array([link]))


def _layer(pdf: pikepdf.Pdf) -> None:
    group = pdf.make_indirect(pikepdf.Dictionary({"/Type": pikepdf.Name.OCG, "/Name": "value"}))
    pdf.Root.OCProperties = pikepdf.Dictionary({"/OCGs": [group], "/D": {"/OFF": [group]}})


def _script(pdf: pikepdf.Pdf) -> None:
    pdf.Root.OpenAction = pikepdf.Dictionary({"/S": pikepdf.Name.JavaScript, "/JS": "this.dirty = false"})


def _page_action(pdf: pikepdf.Pdf) -> None:
    script = pikepdf.Dictionary({"/S": pikepdf.Name.JavaScript, "/JS": "this.dirty = false"})
    pdf.pages[0].AA = pikepdf.Dictionary({"/O": script})


def _drawn(pdf: pikepdf.Pdf, content: bytes, *, before: bool = False) -> None:
    parts = (content, pdf.pages[0].Contents.read_bytes())
    pdf.pages[0].Contents.write(b"\n".join(parts if before else parts[::-1]))


def _in_two_parts(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].contents_add(b"q\nQ")


def _image(pdf: pikepdf.Pdf) -> None:
    """A picture of another figure over the value: a page without a word that is false."""
    image = pdf.make_stream(bytes(3))
    told = {"/Type": "/XObject", "/Subtype": "/Image", "/Width": 1, "/Height": 1, "/BitsPerComponent": 8}
    for name, value in told.items():
        image[name] = pikepdf.Name(value) if isinstance(value, str) else value
    image.ColorSpace = pikepdf.Name.DeviceRGB
    pdf.pages[0].Resources.XObject = pikepdf.Dictionary({"/Over": image})
    _drawn(pdf, b"q\n400 0 0 40 60 500 cm\n/Over Do\nQ")


def _years_before(pdf: pikepdf.Pdf) -> None:
    """All places that say when pages and attachments were made say another year."""
    year = str(pdf.docinfo["/CreationDate"])[2:6]
    for name in ("/CreationDate", "/ModDate"):
        pdf.docinfo[name] = str(pdf.docinfo[name]).replace(f"D:{year}", "D:2001")
    pdf.Root.Metadata.write(pdf.Root.Metadata.read_bytes().replace(f">{year}-".encode(), b">2001-"))
    for spec in pdf.Root.AF:
        told = spec.EF.F.Params
        for name in ("/CreationDate", "/ModDate"):
            told[name] = pikepdf.String(str(told[name]).replace(f"D:{year}", "D:2001"))


def _inline_image(pdf: pikepdf.Pdf) -> None:
    _drawn(pdf, b"q 400 0 0 40 60 500 cm BI /W 1 /H 1 /BPC 8 /CS /G ID \xff EI Q\n")


def _white_field(pdf: pikepdf.Pdf) -> None:
    """White paint over the value."""
    _drawn(pdf, b"q\n1 1 1 rg\n60 -3000 4000 6000 re\nf\nQ")


def _whole_picture(pdf: pikepdf.Pdf) -> None:
    """A form over the page in which figures are painted, not written."""
    form = pdf.make_stream(b"q\n0 0 0 rg\n0 0 9 9 re\nf\nQ")
    form.Type, form.Subtype, form.BBox = pikepdf.Name.XObject, pikepdf.Name.Form, pikepdf.Array([0, 0, 9, 9])
    pdf.pages[0].Resources.XObject = pikepdf.Dictionary({"/Over": form})
    _drawn(pdf, b"/Over Do")


def _thick_line(pdf: pikepdf.Pdf) -> None:
    _drawn(pdf, b"q\n1 1 1 RG\n40 w\n60 500 m\n460 500 l\nS\nQ")


def _shines_through(pdf: pikepdf.Pdf) -> None:
    for state in pdf.pages[0].Resources.ExtGState.values():
        if "/ca" in state:
            state.ca = 0


def _no_size(pdf: pikepdf.Pdf) -> None:
    _drawn(pdf, b"0.1 0 0 0.1 0 0 cm", before=True)


def _white_ink(pdf: pikepdf.Pdf) -> None:
    content = pdf.pages[0].Contents
    content.write(content.read_bytes().replace(b"0.109804 0.113725 0.121569 rg", b"1 1 1 rg"))


def _bookmark(pdf: pikepdf.Pdf) -> None:
    pdf.Root.Outlines.First.A = pikepdf.Dictionary({"/S": pikepdf.Name.Launch, "/F": "x"})


def _named_script(pdf: pikepdf.Pdf) -> None:
    script = pikepdf.Dictionary({"/S": pikepdf.Name.JavaScript, "/JS": "this.dirty = false"})
    pdf.Root.Names.JavaScript = pikepdf.Dictionary({"/Names": ["a", script]})


def _pattern(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].Resources.Pattern = pikepdf.Dictionary({"/P": pikepdf.Dictionary({"/PatternType": 2})})


def _shown_seal(forger: Forger) -> bytes:
    """A seal with an appearance, which lies over the value."""
    return forger.sealed_otherwise(spec=SigFieldSpec("Seal", on_page=0, box=(60, 500, 460, 540)))


def _white_letters(pdf: pikepdf.Pdf) -> None:
    """Shadow, hide: everything on the page invisible, its words still there for who reads the file."""
    _drawn(pdf, b"3 Tr", before=True)


def _clipped(pdf: pikepdf.Pdf) -> None:
    _drawn(pdf, b"0 0 1 1 re\nW\nn", before=True)


def _cropped(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].CropBox = pikepdf.Array([0, 0, 10, 10])


def _turned(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].Rotate = 180


def _one_page_more(pdf: pikepdf.Pdf) -> None:
    pdf.add_blank_page()


def _letters_exchanged(pdf: pikepdf.Pdf) -> None:
    """Shadow, replace, before the seal: the drawings of two digits exchanged in the fonts, the words unchanged."""
    for font in pdf.pages[0].Resources.Font.values():
        descendant = font.DescendantFonts[0]
        descendant.CIDToGIDMap = pdf.make_stream(b"".join((code ^ 1).to_bytes(2, "big") for code in range(4096)))


def _third_file(pdf: pikepdf.Pdf) -> None:
    pdf.attachments["more.json"] = pikepdf.AttachedFileSpec(pdf, b"{}", filename="more.json")


def _associated(pdf: pikepdf.Pdf) -> None:
    """A second file under the same name, listed where another reader looks first."""
    spec = pikepdf.AttachedFileSpec(pdf, b"{}", filename="evidence.json").obj
    pdf.Root.AF.append(spec)


def shown(change: Callable[[CertificateView, CertificateView], CertificateView]) -> Callable[[Forger], bytes]:
    """A page of a rogue template: the files are the certificate's own, the words are not."""

    def make(forger: Forger) -> bytes:
        return forger.sealed(printed(forger.one, change(forger.one.view(), forger.other.view())))

    return make


def _value(view: CertificateView, _: CertificateView) -> CertificateView:
    return replace(view, results=(replace(view.results[0], value="0.001"), *view.results[1:]))


def _exchanged(view: CertificateView, _: CertificateView) -> CertificateView:
    first, second, *rest = view.results
    return replace(view, results=(second, first, *rest))


def _left_out(view: CertificateView, _: CertificateView) -> CertificateView:
    return replace(view, results=view.results[1:])


def _other_number(view: CertificateView, other: CertificateView) -> CertificateView:
    return replace(view, number=other.number)


def _more(view: CertificateView, _: CertificateView) -> CertificateView:
    """A sentence that nothing stands behind."""
    return replace(view, notes=(*view.notes, "Cadmium was not detected."))


def _other_element(view: CertificateView, _: CertificateView) -> CertificateView:
    """A row that nothing stands behind."""
    return replace(view, results=(*view.results, replace(view.results[0], value="0.001")))


def _other_lot(view: CertificateView, _: CertificateView) -> CertificateView:
    return replace(view, item=replace(view.item, lot="LOT-000"))


def _other_conclusion(view: CertificateView, _: CertificateView) -> CertificateView:
    return replace(view, conformity=replace(view.conformity, conclusion="Does not comply."))


def _other_signer(view: CertificateView, _: CertificateView) -> CertificateView:
    return replace(view, signatures=(replace(view.signatures[0], name="Somebody Else"), *view.signatures[1:]))


def _wholly(view: CertificateView, other: CertificateView) -> CertificateView:
    return replace(other, provenance=view.provenance)


# ------------------------------------------------------------------ the files inside made otherwise


def files(take: Callable[[Forger], tuple[bytes, bytes]]) -> Callable[[Forger], bytes]:
    """The certificate's own page over other files."""

    def make(forger: Forger) -> bytes:
        raw = render(forger.one.view(), evidence_and_supplement(*take(forger)), forger.one.at)
        assert isinstance(raw, bytes), raw
        return forger.sealed(raw)

    return make


def _others_evidence(forger: Forger) -> tuple[bytes, bytes]:
    return record_bytes(forger.other.evidence), record_bytes(forger.one.supplement)


def _others_proof(forger: Forger) -> tuple[bytes, bytes]:
    return record_bytes(forger.one.evidence), record_bytes(forger.other.supplement)


def _both(forger: Forger) -> tuple[bytes, bytes]:
    return record_bytes(forger.other.evidence), record_bytes(forger.other.supplement)


def _spaced(forger: Forger) -> tuple[bytes, bytes]:
    return record_bytes(forger.one.evidence) + b"\n", record_bytes(forger.one.supplement)


def _key_twice(forger: Forger) -> tuple[bytes, bytes]:
    evidence = record_bytes(forger.one.evidence)
    return evidence[:-1] + b',"schema":"evidence/1"}', record_bytes(forger.one.supplement)


def evidence(change: Callable[[Evidence], Evidence]) -> Callable[[Forger], bytes]:
    """Other evidence, its page rendered from it, and a supplement that names it: all of a piece but for signatures."""

    def make(forger: Forger) -> bytes:
        told = forger.one.told(change(forger.one.evidence))
        raw = render_certificate(told.evidence_bytes, record_bytes(told.supplement))
        assert isinstance(raw, bytes), raw
        return forger.sealed(raw)

    return make


def supplement(change: Callable[[Supplement, Supplement], Supplement]) -> Callable[[Forger], bytes]:
    def make(forger: Forger) -> bytes:
        told = replace(forger.one, supplement=change(forger.one.supplement, forger.other.supplement))
        raw = render_certificate(told.evidence_bytes, record_bytes(told.supplement))
        assert isinstance(raw, bytes), raw
        return forger.sealed(raw, told.at)

    return make


def _another_factor(found: Evidence) -> Evidence:
    """Dilution factors of one portion's solutions doubled, the values made to fit."""
    run = found.runs[0]
    last = run.clear[-1]
    told = replace(last.solution, dilution=str(Decimal(last.solution.dilution or "1") * 2))
    return replace(found, runs=(replace(run, clear=(*run.clear[:-1], replace(last, solution=told))), *found.runs[1:]))


def _another_reading(found: Evidence) -> Evidence:
    run = found.runs[0]
    last = run.clear[-1]
    reading = last.solution.readings[0]
    told = replace(reading, signal=str(Decimal(reading.signal) / 2))
    solution = replace(last.solution, readings=(told, *last.solution.readings[1:]))
    return replace(
        found, runs=(replace(run, clear=(*run.clear[:-1], replace(last, solution=solution))), *found.runs[1:])
    )


def _another_mass(found: Evidence) -> Evidence:
    first = found.portions[0]
    return replace(found, portions=(replace(first, mass_g=str(Decimal(first.mass_g) * 2)), *found.portions[1:]))


def _another_value(found: Evidence) -> Evidence:
    """Value of the first result doubled, in the result alone."""
    basis = found.results[0]
    outcome = basis.result.outcome
    assert isinstance(outcome, Quantified)
    told = replace(outcome, value_text="0.001")
    return replace(found, results=(replace(basis, result=replace(basis.result, outcome=told)), *found.results[1:]))


def _another_limit(found: Evidence) -> Evidence:
    asked = found.specification.requirements
    return replace(
        found, specification=replace(found.specification, requirements=(replace(asked[0], upper="99"), *asked[1:]))
    )


def _another_wording(found: Evidence) -> Evidence:
    return replace(found, wording=found.wording + 1)


def _without_reviewer(found: Evidence) -> Evidence:
    return replace(found, signatures=tuple(one for one in found.signatures if one.statement.meaning != "reviewed"))


def _later_rules(found: Evidence) -> Evidence:
    return replace(found, calculation_rules=found.calculation_rules + 1)


def _others_release(own: Supplement, other: Supplement) -> Supplement:
    return replace(own, release=other.release)


def _others_head(own: Supplement, other: Supplement) -> Supplement:
    return replace(own, checkpoint=other.checkpoint)


def _without_proofs(own: Supplement, _: Supplement) -> Supplement:
    return replace(own, entries=own.entries[:-1])


def _proofs_twice(own: Supplement, _: Supplement) -> Supplement:
    return replace(own, entries=tuple(one for one in own.entries for _ in "12"))


def _proofs_turned(own: Supplement, _: Supplement) -> Supplement:
    return replace(own, entries=own.entries[::-1])


def _later_head(own: Supplement, _: Supplement) -> Supplement:
    return replace(own, checkpoint=replace(own.checkpoint, at="2030-01-01T00:00:00.000Z"))


INSIDE: Final = (
    Attack("certification: form filling permitted", seal_told(docmdp_permissions=MDPPerm.FILL_FORMS), "seal", "forbid"),
    Attack("certification: annotations permitted", seal_told(docmdp_permissions=MDPPerm.ANNOTATE), "seal", "forbid"),
    Attack("certification: none, an approval only", seal_told(certify=False), "seal", "forbid later changes"),
    Attack("seal: another field", seal_told(field="Other"), "seal", "not the field 'Seal'"),
    Attack("seal: SHA-512", seal_told(md_algorithm="sha512"), "seal", "in the one form"),
    Attack("seal: probabilistic padding", seal_told(pss=True), "seal", "in the one form"),
    Attack(
        "seal: the older sub-filter", seal_told(subfilter=SigSeedSubFilter.ADOBE_PKCS7_DETACHED),
        "seal",
        "is of the form",
    ),
    Attack("seal: a weak key", weak_key, "seal", "does not hold under the key"),
    Attack("seal: two of them", sealed_twice, "seal", "carries 2 seals"),
    Attack("seal: shown over the value", _shown_seal, "page form", "field is drawn on the page"),
    Attack("hidden: free text over the value", redone(_free_text), "page form", "annotation /FreeText"),
    Attack("hidden: a form field", redone(_field), "page form", "2 form fields"),
    Attack("hidden: a link", redone(_link), "page form", "annotation /Link"),
    Attack("hidden: a layer", redone(_layer), "page form", "/OCProperties"),
    Attack("active: code run when opened", redone(_script), "page form", "/OpenAction"),
    Attack("active: code of a page", redone(_page_action), "page form", "/AA"),
    Attack("active: code under a name", redone(_named_script), "page form", "/JavaScript"),
    Attack("active: a bookmark that starts a program", redone(_bookmark), "page form", "a bookmark holds /A"),
    Attack("told: made years before", redone(_years_before), "seal", "its pages state that they were made at 2001-"),
    Attack("hidden: an image over the value", redone(_image), "page form", "drawn apart outside a figure"),
    Attack("hidden: an image in the page's own stream", redone(_inline_image), "page form", "with q 400 0 0 40"),
    Attack("hidden: a picture painted over the page", redone(_whole_picture), "page form", "more than dark letters"),
    Attack("hidden: a pattern", redone(_pattern), "page form", "painted with a pattern"),
    Attack("hidden: white paint over the value", redone(_white_field), "page form", "painted over text"),
    Attack("hidden: a thick white line", redone(_thick_line), "page form", "thicker"),
    Attack("hidden: letters not drawn", redone(_white_letters), "page form", "never is"),
    Attack("hidden: white letters", redone(_white_ink), "page form", "not seen"),
    Attack("hidden: letters that shine through", redone(_shines_through), "page form", "shine through"),
    Attack("hidden: letters too small", redone(_no_size), "page form", "points high"),
    Attack("hidden: clipped away", redone(_clipped), "page form", "cut off"),
    Attack("hidden: cropped", redone(_cropped), "page form", "/CropBox"),
    Attack("hidden: upside down", redone(_turned), "page form", "/Rotate"),
    Attack("page: drawn in two parts", redone(_in_two_parts), "page form", "several parts"),
    Attack("page: one more", redone(_one_page_more), "page form", "page 3"),
    Attack("page: two digits exchanged in the fonts", redone(_letters_exchanged), "page form", "drawn as other ones"),
    Attack("files: a third one", redone(_third_file), "attachments", "more.json"),
    Attack("files: a second evidence", redone(_associated), "seal", "cannot be read"),
    Attack("page: a value", shown(_value), "printed rows", "does not stand on the page"),
    Attack("page: two rows exchanged", shown(_exchanged), "printed rows", "stand in another order"),
    Attack("page: a row left out", shown(_left_out), "printed rows", "does not stand on the page"),
    Attack("page: another number", shown(_other_number), "nothing else printed", "does not end with the certificate"),
    Attack("page: a sentence more", shown(_more), "nothing else printed", "Cadmiumwasnotdetected"),
    Attack("page: a row more", shown(_other_element), "nothing else printed", "page 1 says"),
    Attack("page: another lot", shown(_other_lot), "printed words", "does not say lot"),
    Attack("page: another conclusion", shown(_other_conclusion), "printed words", "does not say conclusion"),
    Attack("page: another signer", shown(_other_signer), "printed words", "does not say signature"),
    Attack("page: that of another certificate", shown(_wholly), "printed words", "does not say customer"),
    Attack("evidence: of another", files(_others_evidence), "supplement of this evidence", "is of evidence"),
    Attack("supplement: of another", files(_others_proof), "supplement of this evidence", "is of evidence"),
    Attack("evidence and supplement: of another", files(_both), "printed words", "does not say certificate"),
    Attack("evidence: a line feed after it", files(_spaced), "evidence", "canonical"),
    Attack("evidence: a key twice", files(_key_twice), "evidence", "canonical"),
    Attack("evidence: recomputed with another factor", evidence(_another_factor), "readings", "is not what was signed"),
    Attack("evidence: another reading", evidence(_another_reading), "readings", "is not what was signed"),
    Attack("evidence: another mass", evidence(_another_mass), "manifests", "does not rest on"),
    Attack("evidence: another value", evidence(_another_value), "manifests", "in none of the manifests"),
    Attack("evidence: another limit", evidence(_another_limit), "documents", "by its digest"),
    Attack("evidence: a wording of another program", evidence(_another_wording), "signatures", "as approver; due is"),
    Attack("evidence: a signature left out", evidence(_without_reviewer), "signatures", "nobody signed R-00001"),
    Attack("evidence: rules of another program", evidence(_later_rules), "signatures", "as approver; due is"),
    Attack(
        "supplement: the release of another", supplement(_others_release),
        "signatures",
        "it signs certificate/C-2026-00002",
    ),
    Attack(
        "supplement: the head of another", supplement(_others_head),
        "ledger entries",
        "not in the tree of the checkpoint",
    ),
    Attack("supplement: every proof twice", supplement(_proofs_twice), "ledger entries", "not each shown once"),
    Attack("supplement: the proofs turned round", supplement(_proofs_turned), "ledger entries", "not each shown once"),
    Attack("supplement: a proof left out", supplement(_without_proofs), "ledger entries", "no entry shown holds"),
    Attack(
        "supplement: a later time of the head", supplement(_later_head), "checkpoint", "does not belong to its contents"
    ),
)  # fmt: skip
