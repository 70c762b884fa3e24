"""Every kind of paper the command line gives out is built alike: archive form, tags, one family."""

from __future__ import annotations

import shutil
import subprocess
from typing import TYPE_CHECKING

import pytest
from tests.certificate.structure import FAMILY, every_fault
from tests.journeys.commands import APPROVER, REVIEWER, Line
from tests.journeys.test_sums import measured

if TYPE_CHECKING:
    from pathlib import Path

    from tests.conftest import Stage

CALCULATION = frozenset({*FAMILY, "Calculation"})  # worked calculations stand in signs of one width
NO_QPDF = shutil.which("qpdf") is None


def require_sound(pdf: Path, *, sealed: bool = False, families: frozenset[str] = frozenset(FAMILY)) -> None:
    assert every_fault(pdf.read_bytes(), sealed=sealed, families=families) == [], pdf.name
    if not NO_QPDF:
        done = subprocess.run(["qpdf", "--check", str(pdf)], capture_output=True, text=True, check=False)  # noqa: S603, S607
        assert done.returncode == 0, (pdf.name, done.stdout + done.stderr)


def test_every_certificate_as_rendered_and_as_sealed(stage: Stage, tmp_path: Path) -> None:
    with stage.site.store.reading() as view:
        rows = [row for row in view.rows("certificate") if row["sealed"]]
        files = {row["number"]: (view.bytes_of(row["unsealed"]), view.bytes_of(row["sealed"])) for row in rows}
    assert len(files) >= 3
    for number, (raw, sealed) in files.items():
        assert sealed.startswith(raw)
        (tmp_path / f"{number}-raw.pdf").write_bytes(raw)
        (tmp_path / f"{number}.pdf").write_bytes(sealed)
        require_sound(tmp_path / f"{number}-raw.pdf")
        require_sound(tmp_path / f"{number}.pdf", sealed=True)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_report_of_a_run(line: Line, tmp_path: Path, paper: str) -> None:
    pdf = tmp_path / "run.pdf"
    assert line("report", "run", "R-00003", "--pdf", str(pdf), "--paper", paper, by=(REVIEWER,)).code == 0
    require_sound(pdf, families=CALCULATION)


def test_the_report_of_a_lot_and_a_trail(line: Line, tmp_path: Path) -> None:
    assert line("report", "lot", "A-1", "--pdf", str(tmp_path / "lot.pdf"), by=(APPROVER,)).code == 0
    require_sound(tmp_path / "lot.pdf")
    assert line("report", "trail", "run/R-00001", "--out", str(tmp_path / "trail"), by=(APPROVER,)).code == 0
    require_sound(tmp_path / "trail" / "trail.pdf")


def test_preliminary_figures(
    stage: Stage, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    measured(stage)
    pdf = tmp_path / "figures.pdf"
    there = Line(stage.site.folder, capsys)
    words = ("certificate", "preliminary", "C-1", "--to", "J. Reed", "--reason", "the plates wait", "--out", str(pdf))
    answer = there(*words, by=(APPROVER,))
    assert answer.code == 0, answer.err
    require_sound(pdf)
