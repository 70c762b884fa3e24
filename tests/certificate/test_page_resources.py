"""What the drawing of a page draws with: each rule, broken in one place. Cases made here."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import pikepdf
import pytest

from benchseal.certificate.page_resources import resource_faults

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

SHINES = "page 1 is painted in a way that lets something shine through."
DEVICE = "its colours are those of another device than a certificate's."


@pytest.fixture
def pdf(raw: bytes) -> Iterator[pikepdf.Pdf]:
    with pikepdf.open(io.BytesIO(raw)) as opened:
        for page in opened.pages:  # each page its own, where they share one
            page.obj.Resources = pikepdf.Dictionary(dict(page.obj.Resources))
            for kind in ("/ColorSpace", "/ExtGState", "/Pattern", "/Shading", "/XObject"):
                page.obj.Resources[kind] = pikepdf.Dictionary(dict(page.obj.Resources.get(kind, {})))
        yield opened


def test_a_sound_file(pdf: pikepdf.Pdf) -> None:
    assert list(resource_faults(pdf)) == []


def put(kind: str, name: str, value: object) -> Callable[[pikepdf.Pdf], None]:
    def change(pdf: pikepdf.Pdf) -> None:
        pdf.pages[0].obj.Resources[kind][name] = value

    return change


def state(**told: object) -> Callable[[pikepdf.Pdf], None]:
    return put("/ExtGState", "/more", pikepdf.Dictionary({f"/{name}": value for name, value in told.items()}))


def font(pdf: pikepdf.Pdf) -> Any:  # noqa: ANN401
    return next(iter(pdf.pages[0].Resources.Font.values()))


def apart(change: Callable[[pikepdf.Object], None]) -> Callable[[pikepdf.Pdf], None]:
    """A drawing apart, changed, on the first page alone."""

    def make(pdf: pikepdf.Pdf) -> None:
        forms = next(page.Resources.XObject for page in pdf.pages if len(page.Resources.XObject))
        found = next(iter(forms.values()))
        kept = {name: value for name, value in dict(found.stream_dict).items() if name not in {"/Length", "/Filter"}}
        copy = pdf.make_stream(found.read_bytes(), kept)
        for page in pdf.pages:
            page.obj.Resources.XObject = pikepdf.Dictionary({})
        change(copy)
        pdf.pages[0].obj.Resources.XObject = pikepdf.Dictionary({"/x0": copy})

    return make


def _white(form: pikepdf.Object) -> None:
    form.write(form.read_bytes().replace(b"0.109804 0.113725 0.121569 rg", b"1 1 1 rg"))


def _field(form: pikepdf.Object) -> None:
    form.write(form.read_bytes() + b"\n0 0 9 9 re\nf")


def _unseen(form: pikepdf.Object) -> None:
    form.write(form.read_bytes().replace(b"0 Tr", b"3 Tr"))


def _key(form: pikepdf.Object) -> None:
    form.OC = 1


def _group(form: pikepdf.Object) -> None:
    form.Group = pikepdf.Dictionary({"/S": pikepdf.Name.Transparency, "/K": True})


def test_a_drawing_apart_that_is_sound(pdf: pikepdf.Pdf) -> None:
    apart(lambda _: None)(pdf)
    assert list(resource_faults(pdf)) == []


def _kept_elsewhere(pdf: pikepdf.Pdf) -> None:
    font(pdf).ToUnicode["/F"] = "other"


def _mapped(pdf: pikepdf.Pdf) -> None:
    font(pdf).DescendantFonts[0].CIDToGIDMap = pdf.make_stream(b"\0\1")


def _content(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].Contents.Metadata = 1


def _intent(change: Callable[[Any], None]) -> Callable[[pikepdf.Pdf], None]:
    return lambda pdf: change(pdf.Root.OutputIntents)


def _no_intent(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.OutputIntents


MORE = "page 1 holds a drawing apart that is more than dark letters."


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (put("/ColorSpace", "/DefaultRGB", pikepdf.Array([pikepdf.Name.CalRGB])), "DefaultRGB"),
        (put("/ColorSpace", "/DefaultGray", pikepdf.Array([pikepdf.Name.CalGray])), "DefaultGray"),
        (put("/ColorSpace", "/lab-d50", pikepdf.Array([pikepdf.Name.Pattern])), "lab-d50"),
    ],
)
def test_colours(pdf: pikepdf.Pdf, change: Callable[[pikepdf.Pdf], None], fault: str) -> None:
    change(pdf)
    assert list(resource_faults(pdf)) == [f"page 1: {fault} is a colour that a certificate does not have."]


@pytest.mark.parametrize("change", [{"Alternate": 1}, {"N": 1}])
def test_the_profile_of_the_page(pdf: pikepdf.Pdf, change: dict[str, int]) -> None:
    profile = pdf.pages[0].Resources.ColorSpace["/srgb"][1]
    told = {f"/{name}": value for name, value in ({"N": 3} | change).items()}
    own = pdf.make_stream(profile.read_bytes(), told)
    pdf.pages[0].Resources.ColorSpace["/srgb"] = pikepdf.Array([pikepdf.Name.ICCBased, own])
    assert list(resource_faults(pdf)) == ["page 1: srgb is a colour that a certificate does not have."]


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (state(ca=0.5), SHINES),
        (state(CA=0), SHINES),
        (state(BM=pikepdf.Name.Multiply), SHINES),
        (state(SMask=pikepdf.Dictionary({})), SHINES),
        (put("/Pattern", "/p", 1), "page 1 is painted with a pattern, which a certificate never is."),
        (put("/Shading", "/p", 1), "page 1 is painted with a shading, which a certificate never is."),
        (_mapped, "page 1 uses a font whose letters are drawn as other ones."),
        (apart(_white), MORE),
        (apart(_field), MORE),
        (apart(_unseen), MORE),
        (apart(_key), MORE),
        (apart(_group), MORE),
        (_content, "page 1, its drawing, holds /Metadata, which a certificate never has."),
        (_kept_elsewhere, "it holds something whose content is in another file."),
        (_no_intent, DEVICE),
        (_intent(lambda told: told.append(told[0])), DEVICE),
        (_intent(lambda told: told[0].__setitem__("/S", pikepdf.Name("/GTS_PDFX"))), DEVICE),
        (_intent(lambda told: told[0].__setitem__("/DestOutputProfileRef", 1)), DEVICE),
        (_intent(lambda told: told[0].__delitem__("/DestOutputProfile")), DEVICE),
    ],
)
def test_what_a_page_may_not_draw_with(pdf: pikepdf.Pdf, change: Callable[[pikepdf.Pdf], None], fault: str) -> None:
    change(pdf)
    assert list(dict.fromkeys(one.replace("page 2", "page 1") for one in resource_faults(pdf))) == [fault]


def test_resources_of_another_kind(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.Resources["/Properties"] = pikepdf.Dictionary({})
    assert list(resource_faults(pdf)) == ["page 1, its resources, holds /Properties, which a certificate never has."]
