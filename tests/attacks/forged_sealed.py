"""Lies in what a seal brings into a file, in bookmarks, lists of attachments and heads of tables.

Every word of the page is as it was. Sealed with the laboratory's own key. Common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import pikepdf
import pytest
from pyhanko.pdf_utils import generic
from pyhanko.sign.signers import pdf_signer
from tests.attacks.forged_inside import redone
from tests.attacks.forged_kept import parts
from tests.attacks.forged_outside import Attack

from benchseal.certificate.page_marks import bookmarks

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.attacks.forging import Forger


def _told(name: str, change: Callable[[pikepdf.Pdf], None], words: str) -> Attack:
    return Attack(name, redone(change), "page form", words)


def _mark_told(name: str, value: object) -> Callable[[pikepdf.Pdf], None]:
    """One bookmark told otherwise; ``None``: without that."""

    def change(pdf: pikepdf.Pdf) -> None:
        mark = next(one for one in bookmarks(pdf) if name in one)
        if value is None:
            del mark[name]
        else:
            mark[name] = value if name != "/Parent" else pdf.Root

    return change


def _no_heads(pdf: pikepdf.Pdf) -> None:
    for kind in ("/TD", "/TH"):
        for part in parts(pdf, kind):
            del part["/A"]


def _spec(name: str, value: object) -> Callable[[pikepdf.Pdf], None]:
    def change(pdf: pikepdf.Pdf) -> None:
        for spec in pdf.Root.AF:
            if value is None:
                del spec[name]
            else:
                spec[name] = value

    return change


def permitted(change: Callable[[Any], None]) -> Callable[[Forger], bytes]:
    """The seal's dictionary told more, or otherwise, before it is signed (ISO 32000-1, tables 252 to 256)."""

    setup: Any = vars(pdf_signer)["SigMDPSetup"]

    def told(self: Any, sig_obj_ref: Any, writer: Any) -> Any:  # noqa: ANN401  types of a library
        made = as_it_is(self, sig_obj_ref, writer)
        change(sig_obj_ref.get_object())
        return made

    as_it_is = setup.apply

    def make(forger: Forger) -> bytes:
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr(setup, "apply", told)
            return forger.sealed_otherwise()

    return make


def _reference(method: str, **told: Any) -> Any:  # noqa: ANN401
    dictionary: Any = generic.DictionaryObject
    params = {generic.pdf_name("/Type"): generic.pdf_name("/TransformParams")}
    params[generic.pdf_name("/V")] = generic.pdf_name("/1.2")
    params |= {generic.pdf_name(f"/{name}"): value for name, value in told.items()}
    return dictionary(
        {
            generic.pdf_name("/Type"): generic.pdf_name("/SigRef"),
            generic.pdf_name("/TransformMethod"): generic.pdf_name(method),
            generic.pdf_name("/TransformParams"): dictionary(params),
        }
    )


def _second_permission(seal: Any) -> None:  # noqa: ANN401
    any_change = generic.NumberObject(3)  # type: ignore[no-untyped-call]
    seal["/Reference"].append(_reference("/DocMDP", P=any_change))


def _fields_locked(seal: Any) -> None:  # noqa: ANN401
    seal["/Reference"].append(_reference("/FieldMDP", Action=generic.pdf_name("/All")))


def _permission_with_words(seal: Any) -> None:  # noqa: ANN401
    params = seal["/Reference"][0]["/TransformParams"]
    params[generic.pdf_name("/Msg")] = generic.pdf_string("Cadmium complies")


def _reference_with_more(seal: Any) -> None:  # noqa: ANN401
    seal["/Reference"][0][generic.pdf_name("/Note")] = generic.pdf_string("x")


def _another_moment(seal: Any) -> None:  # noqa: ANN401
    seal[generic.pdf_name("/M")] = generic.pdf_string("D:20261127202329-11'00'")


def _sealed(name: str, change: Callable[[Any], None], words: str) -> Attack:
    return Attack(f"seal: {name}", permitted(change), "seal", words)


SEALED: Final = (
    _told("aloud: no cell has a head", _no_heads, "lacks /A"),
    _told("bookmark: under something else", _mark_told("/Parent", True), "do not hang together"),
    _told("bookmark: no way back", _mark_told("/Prev", None), "do not hang together"),
    _told("bookmark: another last one", _mark_told("/Last", None), "do not hang together"),
    _told("bookmark: counted otherwise", _mark_told("/Count", 3), "do not hang together"),
    _told("files: no second name", _spec("/F", None), "lacks /F"),
    _told("files: called something else", _spec("/Type", pikepdf.Name.Annot), "called something else"),
    _sealed("a second permission", _second_permission, "what it permits"),
    _sealed("fields locked", _fields_locked, "what it permits"),
    _sealed("words in what it permits", _permission_with_words, "what it permits"),
    _sealed("more beside what it permits", _reference_with_more, "what it permits"),
    _sealed("a moment in another zone", _another_moment, "when it was made"),
)
