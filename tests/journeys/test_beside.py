"""A delivery with everything beside it, put down by commands and judged by stock tools."""

from __future__ import annotations

import hashlib
import json
import shutil
import subprocess
from typing import TYPE_CHECKING

import pytest
from csvw import Table
from tests.journeys.commands import ANALYST, APPROVER
from tests.journeys.test_corrections import good, refused

from benchseal.export.delivery import check_manifest
from benchseal.shipped import starter
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

OPENSSL = shutil.which("openssl") or "openssl"
PROFILE = """
kind: profile
id: whole
title: Everything beside
file: {encoding: utf-8, separator: ',', quote: needed, line_end: lf, decimal_mark: '.', header_line: true}
risky_text: refuse
columns:
  - {title: id, field: result_id}
  - {title: revision, field: revision}
  - {title: change, field: change_kind}
  - {title: element, field: element_symbol}
  - {title: value, field: value_number}
  - {title: text, field: value_text}
  - {title: unit, field: unit_ucum}
done_file: true
beside: [signature, csvw, table_schema, certificates]
"""


@pytest.fixture
def delivered(line: Line, tmp_path: Path) -> Path:
    """The folder of one delivery."""
    (tmp_path / "whole.yaml").write_text(PROFILE, encoding="utf-8")
    good(line("document", "add", str(tmp_path / "whole.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "profile/whole", "--json", by=(APPROVER,)))
    folder = tmp_path / "there"
    folder.mkdir()
    good(line("export", "run", "whole", "--to", str(folder), "--json", by=(APPROVER,)))
    return folder


def openssl(folder: Path, *words: str) -> bytes:
    return subprocess.run([OPENSSL, *words], cwd=folder, capture_output=True, check=True).stdout  # noqa: S603


def test_files_and_manifest_agree_and_nothing_else_is_there(line: Line, delivered: Path) -> None:
    files = {path.name: path.read_bytes() for path in delivered.iterdir()}
    ends = sorted(name.partition("_D-")[2].partition(".")[2] for name in files if "_D-" in name)
    assert ends == ["csv", "csv-metadata.json", "datapackage.json", "done", "manifest.json", "manifest.sig"]
    (manifest,) = (data for name, data in files.items() if name.endswith(".manifest.json"))
    data_files = {name: data for name, data in files.items() if not name.endswith((".done", ".sig", ".manifest.json"))}
    assert check_manifest(manifest, data_files) == ()
    sealed = {path.name: path.read_bytes() for path in (line.site / "certificates").glob("*.pdf")}
    copies = {name: data for name, data in files.items() if name.endswith(".pdf")}
    assert copies
    assert copies.items() <= sealed.items()
    listed = [one for one in json.loads(manifest)["files"] if "rows" in one]
    assert [one["name"].endswith(".csv") for one in listed] == [True]


def test_openssl_and_csvw_take_it_as_it_is(line: Line, delivered: Path) -> None:
    (manifest,) = delivered.glob("*.manifest.json")
    (signature,) = delivered.glob("*.manifest.sig")
    openssl(delivered, "pkcs7", "-in", signature.name, "-print_certs", "-out", "seal.pem")
    shown = openssl(delivered, "x509", "-in", "seal.pem", "-noout", "-fingerprint", "-sha256").decode()
    trusted = read_trust(json.loads((line.site / "trust.json").read_text()))
    assert isinstance(trusted, Trust)
    assert shown.partition("=")[2].strip().replace(":", "").lower() in trusted.fingerprints
    words = ["-verify", "-binary", "-inform", "PEM", "-in", signature.name, "-content", manifest.name]
    trust = ("-CAfile", "seal.pem", "-purpose", "any")
    openssl(delivered, "cms", *words, *trust, "-out", "verified.json")
    manifest.write_bytes(manifest.read_bytes().replace(b'"new":', b'"now":'))
    with pytest.raises(subprocess.CalledProcessError):
        openssl(delivered, "cms", *words, *trust, "-out", "verified.json")
    (described,) = delivered.glob("*.csv-metadata.json")
    read = list(Table.from_file(described))
    assert read
    released = {
        str(result): str(revision) for result, revision in line.rows("SELECT result_id, revision FROM released")
    }
    assert all(int(released[str(one["result_id"])]) >= int(one["revision"]) for one in read)


def test_a_repeat_is_the_same_bytes_whole(line: Line, delivered: Path, tmp_path: Path) -> None:
    (tmp_path / "again").mkdir()
    (number,) = line.rows("SELECT delivery_id FROM delivery WHERE profile = 'whole'")[0]
    good(line("export", "again", str(number), "--to", str(tmp_path / "again"), "--json", by=(APPROVER,)))
    first, second = (
        {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()}
        for folder in (delivered, tmp_path / "again")
    )
    assert first == second


def test_a_profile_is_tried_before_it_is_in_force(line: Line, tmp_path: Path) -> None:
    (tmp_path / "whole.yaml").write_text(PROFILE, encoding="utf-8")
    cases = good(line("export", "check", str(tmp_path / "whole.yaml"), "--json", by=(ANALYST,)))["cases"]
    assert {row["outcome"] for row in cases if row["case"] == "a withdrawn result"} == {"written"}
    assert any(row["why"].startswith("export.basis-not-shown: column value") for row in cases)
    cells = good(line("export", "check", "comma-utf8", "--cells", "--json", by=(ANALYST,)))["cells"]
    assert {"case", "outcome", "column", "field", "text"} == set(cells[0])
    cells = good(line("export", "check", str(tmp_path / "whole.yaml"), "--cells", "--json", by=(ANALYST,)))["cells"]
    refusals = [row for row in cells if row["text"].startswith("export.basis-not-shown: ")]
    assert {(row["case"], row["outcome"]) for row in refusals} == {("a result on dry basis", "refused")}
    assert {row["case"] for row in cells if row["outcome"] == "refused"} == {
        row["case"] for row in cases if row["outcome"] == "refused"
    }
    (tmp_path / "other.yaml").write_text("kind: policy\n", encoding="utf-8")
    assert line("export", "check", str(tmp_path / "other.yaml"), by=(ANALYST,)).code == 4
    (tmp_path / "bad.yaml").write_text(PROFILE.replace("field: change_kind", "field: lot_id"), encoding="utf-8")
    refused(line("export", "check", str(tmp_path / "bad.yaml"), by=(ANALYST,)), "profile.change-not-shown")
    refused(line("export", "check", "none-such", by=(ANALYST,)), "export.profile-not-in-force")


def test_a_preview_holds_the_version_and_the_time_there_are(line: Line, tmp_path: Path) -> None:
    more = "  - {title: version, field: profile_version}\n  - {title: made, field: produced_at}\n"
    text = PROFILE.replace("done_file:", f"{more}done_file:")
    (tmp_path / "whole.yaml").write_text(text, encoding="utf-8")
    good(line("document", "add", str(tmp_path / "whole.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "profile/whole", "--json", by=(APPROVER,)))
    cells = good(line("export", "preview", "whole", "--json", by=(ANALYST,)))["cells"]
    assert {cell["text"] for cell in cells if cell["column"] == "version"} == {"1"}
    (made,) = {cell["text"] for cell in cells if cell["column"] == "made"}
    assert made > "2026"


def test_a_place_that_is_away_is_the_trouble_of_its_own_profile(line: Line, tmp_path: Path) -> None:
    text = starter("profiles/comma-utf8.yaml").replace("id: comma-utf8", "id: away")
    text += f"send_to: {{kind: folder, folder: {tmp_path / 'share'}}}\n"
    (tmp_path / "away.yaml").write_text(text, encoding="utf-8")
    good(line("document", "add", str(tmp_path / "away.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "profile/away", "--json", by=(APPROVER,)))
    for _ in range(2):  # planned, then still not put down
        lost = line("export", "run", "away", by=(APPROVER,))
        assert (lost.code, "delivery.unreachable" in lost.err) == (7, True)
    assert line("export", "run", "comma-utf8", by=(APPROVER,)).code == 0
    (tmp_path / "share").mkdir()
    assert line("export", "run", "away", by=(APPROVER,)).code == 0
    assert [path.suffix for path in (tmp_path / "share").iterdir() if path.suffix == ".csv"] == [".csv"]
