"""What is read aloud: each rule, broken in one place. Cases made here."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import pikepdf
import pytest

from benchseal.certificate.page_aloud import kind_faults
from benchseal.certificate.page_drawing import Drawing
from benchseal.certificate.page_structure import Structure, figure_faults, structure_faults, told_figures

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator


@pytest.fixture
def pdf(raw: bytes) -> Iterator[pikepdf.Pdf]:
    with pikepdf.open(io.BytesIO(raw)) as opened:
        yield opened


def said(pdf: pikepdf.Pdf) -> list[str]:
    return list(dict.fromkeys(structure_faults(pdf, Structure(pdf), lists=False)))


def first(pdf: pikepdf.Pdf, kind: str, at: int = 0) -> Any:  # noqa: ANN401  an object of a file
    return [part.item for part in Structure(pdf).parts if part.kind == kind][at]


def row(pdf: pikepdf.Pdf, at: int = 0) -> Any:  # noqa: ANN401
    """One of several values."""
    parts = [part.item for part in Structure(pdf).parts if part.kind == "/TR"]
    return [one for one in parts if [str(cell.S) for cell in one.K].count("/TD") > 1][at]


def test_a_sound_file(pdf: pikepdf.Pdf) -> None:
    assert said(pdf) == []
    assert told_figures(Structure(pdf))
    assert list(figure_faults(told_figures(Structure(pdf)), told_figures(Structure(pdf)))) == []


def _no_structure(pdf: pikepdf.Pdf) -> None:
    pdf.Root.MarkInfo = pikepdf.Dictionary({"/Marked": False})


def _roles(pdf: pikepdf.Pdf) -> None:
    pdf.Root.StructTreeRoot.RoleMap = pikepdf.Dictionary({})


def _spoken(pdf: pikepdf.Pdf) -> None:
    first(pdf, "/TD").ActualText = "0.001"


def _expanded(pdf: pikepdf.Pdf) -> None:
    first(pdf, "/TD").E = "0.001"


def _no_heads(pdf: pikepdf.Pdf) -> None:
    for part in Structure(pdf).parts:
        if part.kind in {"/TD", "/TH"}:
            del part.item["/A"]


def _no_head_of_values(pdf: pikepdf.Pdf) -> None:
    for part in Structure(pdf).parts:
        if part.kind == "/TD":
            part.item.A.Headers = pikepdf.Array()


def _no_names(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.StructTreeRoot["/IDTree"]


def _names_below(pdf: pikepdf.Pdf) -> None:
    pdf.Root.StructTreeRoot.IDTree.Kids = pikepdf.Array()


def _another_type(pdf: pikepdf.Pdf) -> None:
    first(pdf, "/TD").Type = pikepdf.Name.Annot


def _no_page(pdf: pikepdf.Pdf) -> None:
    del first(pdf, "/TD")["/Pg"]


def _of_a_figure(pdf: pikepdf.Pdf) -> None:
    first(pdf, "/TD").A.O = pikepdf.Name.Layout


def _described(pdf: pikepdf.Pdf) -> None:
    first(pdf, "/TD").Alt = "0.001"


def _not_described(pdf: pikepdf.Pdf) -> None:
    del first(pdf, "/Figure").Alt


def _label(pdf: pikepdf.Pdf) -> None:
    first(pdf, "/P").S = pikepdf.Name.Lbl


def _passed_over(pdf: pikepdf.Pdf) -> None:
    first(pdf, "/TD").S = pikepdf.Name.Artifact


def _particular(pdf: pikepdf.Pdf) -> None:
    first(pdf, "/TD").A.Contents = "0.001"


def _two_particulars(pdf: pikepdf.Pdf) -> None:
    first(pdf, "/TH").A = pikepdf.Array([first(pdf, "/TH").A])


def _removed(pdf: pikepdf.Pdf) -> None:
    del row(pdf).K[-1]


def _twice(pdf: pikepdf.Pdf) -> None:
    part = first(pdf, "/P")
    part.K.append(part.K[0])


def _swapped(pdf: pikepdf.Pdf) -> None:
    cells = row(pdf).K
    cells[1], cells[2] = cells[2], cells[1]


def _places(pdf: pikepdf.Pdf) -> None:
    places = pdf.Root.StructTreeRoot.ParentTree.Nums[1]
    places[10], places[12] = places[12], places[10]


def _parent(pdf: pikepdf.Pdf) -> None:
    row(pdf).K[1].P = row(pdf, 1)


def _page_number(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.StructParents, pdf.pages[1].obj.StructParents = 1, 0


def _more_places(pdf: pikepdf.Pdf) -> None:
    pdf.Root.StructTreeRoot.ParentTree.Nums.append(9)
    pdf.Root.StructTreeRoot.ParentTree.Nums.append(pikepdf.Array([]))


def _another_head(pdf: pikepdf.Pdf) -> None:
    cells = row(pdf).K
    cells[1].A.Headers = cells[2].A.Headers


def _one_head_of_two(pdf: pikepdf.Pdf) -> None:
    cell = next(cell for cell in row(pdf).K if len(cell.A.get("/Headers", ())) > 1)
    cell.A.Headers = pikepdf.Array([cell.A.Headers[0]])


def _no_such_head(pdf: pikepdf.Pdf) -> None:
    row(pdf).K[1].A.Headers = pikepdf.Array(["9"])


def _later_head(pdf: pikepdf.Pdf) -> None:
    cells = [row(pdf, at).K[1] for at in (0, 1)]
    cells[0].A.Headers = cells[1].A.Headers


def _heads_exchanged(pdf: pikepdf.Pdf) -> None:
    one, other = first(pdf, "/TH"), first(pdf, "/TH", 1)
    one.ID, other.ID = other.ID, one.ID


def _names(pdf: pikepdf.Pdf) -> None:
    names = pdf.Root.StructTreeRoot.IDTree.Names
    names[1], names[3] = names[3], names[1]


HEAD = "a cell is read aloud under the head of another column or row."
PLACE = "what is read aloud is found at another place of the page."
ORDER = "words are read aloud in another order than they are printed."


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (_no_structure, "it has no structure to be read aloud by."),
        (_roles, "what is read aloud holds /RoleMap, which that of a certificate never has."),
        (_no_heads, "a part read aloud lacks /A, which that of a certificate has."),
        (_no_head_of_values, "a cell is read aloud without the head of its column or row."),
        (_no_names, "what is read aloud lacks /IDTree, which that of a certificate has."),
        (_names_below, "what is read aloud is listed otherwise than that of a certificate."),
        (_another_type, "a part read aloud is called something else."),
        (_no_page, "a part read aloud lacks /Pg, which that of a certificate has."),
        (_of_a_figure, "a part read aloud has other particulars than that of a certificate."),
        (_spoken, "a part read aloud holds /ActualText, which that of a certificate never has."),
        (_expanded, "a part read aloud holds /E, which that of a certificate never has."),
        (_described, "words of the page are read aloud as other words."),
        (_not_described, "a figure has no description to be read aloud."),
        (_label, "a number of a list is read aloud, which a certificate does not have."),
        (_passed_over, "a part is read aloud as /Artifact, which a certificate does not have."),
        (_particular, "a part read aloud, its particulars, holds /Contents, which that of a certificate never has."),
        (_two_particulars, "a part read aloud has other particulars than that of a certificate."),
        (_removed, "page 1: not every part of it is read aloud, once."),
        (_twice, "page 1: not every part of it is read aloud, once."),
        (_swapped, ORDER),
        (_places, PLACE),
        (_parent, PLACE),
        (_page_number, PLACE),
        (_more_places, PLACE),
        (_another_head, HEAD),
        (_one_head_of_two, HEAD),
        (_no_such_head, HEAD),
        (_later_head, HEAD),
        (_heads_exchanged, HEAD),
        (_names, HEAD),
    ],
)
def test_what_is_read_aloud_otherwise(pdf: pikepdf.Pdf, change: Callable[[pikepdf.Pdf], None], fault: str) -> None:
    change(pdf)
    found = said(pdf)
    assert fault in found
    if change not in (_swapped, _heads_exchanged):  # a cell in another's place stands under another head besides
        assert found == [fault]


def test_a_figure_told_otherwise() -> None:
    told = ("a line of 6 points", "a rosette")
    assert list(figure_faults(told, told)) == []
    for other, first in ((told[::-1], "a rosette"), (("a line of  6 points", told[1]), "a line of  6 points")):
        assert list(figure_faults(other, told)) == [f"figures are read aloud with other words than are due: {first!r}."]
    assert list(figure_faults(("a line of 7 points", told[1]), told)) == [
        "figures are read aloud with other words than are due: 'a line of 7 points'."
    ]
    assert list(figure_faults(told[:1], told)) == ["figures are read aloud with other words than are due: ''."]


@pytest.mark.parametrize("value", [pikepdf.Dictionary({"/MCID": 0, "/Stm": 1}), pikepdf.String("0")])
def test_a_part_of_another_kind(pdf: pikepdf.Pdf, value: pikepdf.Object) -> None:
    first(pdf, "/P").K = pikepdf.Array([value])
    with pytest.raises(ValueError, match=r"a certificate's|no certificate has"):
        Structure(pdf)


def test_words_read_aloud_as_a_figure(pdf: pikepdf.Pdf) -> None:
    parts, told = Drawing(pdf.pages[0]).parts, Structure(pdf)
    assert list(kind_faults(parts, told, 0)) == []
    for change in ({"figure": 1}, {"figure": 0}):
        other = [part._replace(**change) for part in parts]
        assert list(kind_faults(other, told, 0)) == ["a figure is read aloud as words, or words as a figure."]
