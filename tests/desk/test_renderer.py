"""Papers are made apart: a template that loops, eats memory, reads a file or fetches is refused, and said so."""

from __future__ import annotations

import ast
import json
import os
import pickle
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from tests.certificate.conftest import ATTACHED, SEALED_AT
from tests.certificate.demo_views import LOZENGE
from weasyprint.urls import FatalURLFetchingError

from benchseal import shipped, shipped_templates
from benchseal.certificate.render import STYLE, render, render_paper
from benchseal.desk.renderer import Limits, Renderer, _refused
from benchseal.desk.renderer_child import FAULT, Guard, answered
from benchseal.problems import Problem, Refusal, Stopped, Trouble

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.problems import Notice

AT = datetime(2026, 1, 19, tzinfo=UTC)
PACKAGE = Path(__file__).parents[2] / "pipeline" / "benchseal"
ON_LINUX = pytest.mark.skipif(sys.platform != "linux", reason="limits of memory and processor time are Linux's")
PNG = "data:image/png;base64,iVBORw0KGgo="


@pytest.fixture(scope="module")
def renderer() -> Iterator[Renderer]:
    """One for all tests that leave it as it is, and those that end its process."""
    one = Renderer(Limits(processor_s=2, wait_s=120.0, memory_bytes=1024**3))
    yield one
    one.close()


def paper(renderer: Renderer, body: str, **values: Any) -> bytes:  # noqa: ANN401  whatever the template prints
    """A paper whose template is ``body``."""
    page = f"<html lang='en'><head><title>T</title></head><body>{body}</body></html>"
    return renderer.make(render_paper, "own", STYLE, AT, given={"own": page}, **values)


def refused(renderer: Renderer, body: str) -> Notice:
    with pytest.raises(Stopped) as stopped:
        paper(renderer, body)
    (notice,) = stopped.value.notices
    assert notice.remedy
    assert paper(renderer, "<p>the next one</p>").startswith(b"%PDF-1.7"), "the next paper is made all the same"
    return notice


def test_the_same_bytes_as_in_this_process(renderer: Renderer) -> None:
    assert renderer.make(render, LOZENGE, ATTACHED, SEALED_AT) == render(LOZENGE, ATTACHED, SEALED_AT)


def test_one_process_makes_a_batch(renderer: Renderer) -> None:
    first, again = paper(renderer, "<p>{{ x }}</p>", x="1"), paper(renderer, "<p>{{ x }}</p>", x="1")
    process = renderer.process_id
    assert paper(renderer, "<p>{{ x }}</p>", x="2") != first == again
    assert renderer.process_id == process != os.getpid()


def test_a_new_process_takes_over_after_so_many_papers() -> None:
    """The libraries keep a little of each paper: memory stays where it is over any batch."""
    one = Renderer(Limits(papers=2))
    try:
        processes = []
        for nth in range(5):
            paper(one, "<p>{{ x }}</p>", x=str(nth))
            processes.append(one.process_id)
    finally:
        one.close()
    assert processes[0] == processes[1] != processes[2] == processes[3] != processes[4]


def test_problems_of_a_paper_come_back_as_they_are(renderer: Renderer) -> None:
    from dataclasses import replace  # noqa: PLC0415

    incomplete = replace(LOZENGE, number="")
    with pytest.raises(Stopped) as stopped:
        renderer.make(render, incomplete, ATTACHED, SEALED_AT)
    assert stopped.value.notices == render(incomplete, ATTACHED, SEALED_AT)


@ON_LINUX
def test_one_that_loops_is_refused(renderer: Renderer) -> None:
    found = refused(renderer, "{% for a in range(90000) %}{% for b in range(90000) %}{% endfor %}{% endfor %}")
    assert (type(found), found.code) == (Trouble, "paper.too-long")
    assert "2 s of processor time" in found.what


def test_one_that_waits_too_long_is_refused() -> None:
    waiting = Renderer(Limits(processor_s=600, wait_s=0.2))
    try:
        with pytest.raises(Stopped, match=r"paper\.too-long: the paper: it was not made within 0\.2 s"):
            paper(waiting, "{% for a in range(90000) %}{% for b in range(90000) %}{% endfor %}{% endfor %}")
    finally:
        waiting.close()


@ON_LINUX
@pytest.mark.parametrize(
    "body",
    [
        "{{ 'x' * 4000000000 }}",
        "{% set n = namespace(t='x') %}{% for a in range(40) %}{% set n.t = n.t ~ n.t %}{% endfor %}{{ n.t }}",
    ],
)
def test_one_that_eats_memory_is_refused(renderer: Renderer, body: str) -> None:
    found = refused(renderer, body)
    assert (type(found), found.code) == (Trouble, "paper.too-large")


@pytest.mark.parametrize(
    "address",
    [
        "http://192.0.2.1/logo.png", "https://example.org/logo.png", "ftp://example.org/logo.png",
        "file:///etc/hostname", "/etc/hostname", "logo.png", "benchseal:certificate.css", PNG,
    ],
)  # fmt: skip
@pytest.mark.parametrize(
    "body",
    [
        '<img src="{}" alt="logo">',
        '<link rel="stylesheet" href="{}">',
        '<style>@import "{}";</style>',
        '<p style="background-image: url({})">x</p>',
        '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><image href="{}" width="9" height="9"/></svg>',
        '<object data="{}"></object>',
        '<link rel="attachment" href="{}">',
    ],
    ids=["logo", "style", "import", "background", "in a picture", "object", "attachment"],
)  # fmt: skip
def test_nothing_is_fetched(body: str, address: str) -> None:
    page = f"<html lang='en'><head><title>T</title></head><body>{body.replace('{}', address)}</body></html>"
    with pytest.raises(FatalURLFetchingError, match="may not fetch"):
        render_paper("own", STYLE, AT, given={"own": page})


def test_an_address_is_said_where_it_is_refused(renderer: Renderer) -> None:
    found = refused(renderer, '<img src="http://192.0.2.1/logo.png" alt="logo">')
    assert (type(found), found.code) == (Refusal, "paper.reaches-out")
    assert "http://192.0.2.1/logo.png" in found.what


def test_what_cannot_be_drawn_is_not_left_out(renderer: Renderer) -> None:
    """WeasyPrint would log it and go on."""
    found = refused(renderer, '<svg width="9" height="9" viewBox="a b c d"></svg>')
    assert (type(found), found.code) == (Problem, "paper.template-faulty")


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ("{% include '/etc/hostname' %}", "/etc/hostname"),
        ("{% include '../../pyproject.toml' %}", "pyproject.toml"),
        ("{{ ''.__class__.__mro__[1].__subclasses__() }}", "unsafe"),
        ("{{ cycler.__init__.__globals__.os.environ }}", "unsafe"),
        ("{{ range.__self__ }}", "no attribute"),
        ("{{ [].append(1) }}", "unsafe"),
        ("{{ nobody.said.so }}", "undefined"),
        ("{% for", "template"),
        ("{{ range(10**7) }}", "Range too big"),
    ],
)
def test_what_a_template_may_not_reach(renderer: Renderer, body: str, said: str) -> None:
    found = refused(renderer, body)
    assert found.code in {"paper.template-faulty", "paper.reaches-out"}, found
    assert said in found.what


def test_the_ear_hears_what_python_opens(renderer: Renderer, tmp_path: Path) -> None:
    """The second wall: a function that got round the sandbox still reads and writes nothing outside."""
    (tmp_path / "key.pem").write_text("secret", encoding="utf-8")
    for attempt in (Path.read_bytes, Path.unlink, Path.touch):
        with pytest.raises(Stopped, match="reaches out"):
            renderer.make(attempt, tmp_path / "key.pem")  # type: ignore[arg-type]
    assert (tmp_path / "key.pem").read_text(encoding="utf-8") == "secret"
    with pytest.raises(Stopped, match="reaches out"):
        renderer.make(os.system, "true")  # type: ignore[arg-type]


def test_no_secret_of_the_environment_is_handed_on(renderer: Renderer, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LABORATORY_PASSWORD", "seven herons")
    renderer.close()
    paper(renderer, "<p>started anew</p>")
    told = renderer.make(os.getenvb, b"TMPDIR")  # type: ignore[arg-type]
    assert Path(told.decode()).name.startswith("papers-")
    with pytest.raises(Stopped, match="NoneType"):
        renderer.make(os.getenvb, b"LABORATORY_PASSWORD")  # type: ignore[arg-type]


def test_its_folder_goes_with_it() -> None:
    one = Renderer()
    paper(one, "<p>x</p>")
    folder = Path(one.make(os.getcwdb).decode())
    assert folder.is_dir()
    one.close()
    assert not folder.exists()
    assert one.process_id == 0


def test_no_paper_is_made_anywhere_else() -> None:
    """In desk, cli, upkeep and demo a function that renders is handed on, never called.

    Whoever checks a page by drawing it again has no site and no key to protect, and gives nothing out.
    """
    called = [
        f"{path.relative_to(PACKAGE)}:{node.lineno}"
        for room in ("desk", "cli", "upkeep", "demo", "verify")
        for path in sorted((PACKAGE / room).rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id.startswith("render_")
    ]
    assert [one.partition(":")[0] for one in called] == ["verify/redraw.py"]


@pytest.mark.refuses("P11 11.10(a)")
def test_a_shipped_template_changed_on_disk_makes_no_paper(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the process that makes papers answers, and what becomes of that; the table is changed here, not the file."""
    monkeypatch.setitem(shipped_templates.SHA256, "certificate.css", "00" * 32)
    kind, told = answered(pickle.dumps((shipped.template_bytes, ("certificate.css",), {})), Guard(tmp_path))
    assert kind == FAULT
    fault = json.loads(told)
    found = _refused(set(fault["is"]), fault["says"], fault["refused"])
    assert (type(found), found.code) == (Refusal, "paper.template-changed")
    assert "certificate.css" in found.what
