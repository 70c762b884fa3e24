"""A laboratory's own template through the command line: brought in, its trial looked at, put in force, withdrawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.journeys.commands import ANALYST
from tests.journeys.test_documents import bring, good, stopped

from benchseal.shipped import starter

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

OWN = starter("certificate_templates/certificate.yaml")


def test_a_template_is_tried_looked_at_and_put_in_force(line: Line, tmp_path: Path) -> None:
    good(bring(line, tmp_path, OWN))
    trial = tmp_path / "trial.pdf"
    good(line("document", "show", "CERTIFICATE", "--pdf", str(trial), by=(ANALYST,)))
    assert trial.read_bytes().startswith(b"%PDF")
    (tmp_path / "it.yaml").write_text(OWN.replace("padding-left", "margin-left: -9mm; top"), encoding="utf-8")
    stopped(line("document", "add", str(tmp_path / "it.yaml"), by=(ANALYST,)), "certificate.template-differs")
