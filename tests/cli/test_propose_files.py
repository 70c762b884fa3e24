"""Files a layout is drafted from or tried on: what is no plain file is refused as at ingest."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from benchseal.cli import main
from benchseal.desk import arriving

LAYOUT = Path(__file__).parents[2] / "pipeline" / "benchseal" / "starters" / "layouts" / "comma-list.yaml"


def _link(folder: Path) -> Path:
    (folder / "real.txt").write_bytes(b"Sample;Abs\nBlank;0.001\n")
    (folder / "link.txt").symlink_to(folder / "real.txt")
    return folder / "link.txt"


def _pipe(folder: Path) -> Path:
    os.mkfifo(folder / "pipe.txt")
    return folder / "pipe.txt"


def _device_name(folder: Path) -> Path:
    (folder / "COM1.txt").write_bytes(b"Sample;Abs\nBlank;0.001\n")
    return folder / "COM1.txt"


def _archive(folder: Path) -> Path:
    (folder / "a.txt").write_bytes(b"PK\x03\x04 and more")
    return folder / "a.txt"


REFUSED = {
    "file.link": _link,
    "file.not-a-file": _pipe,
    "file.device-name": _device_name,
    "ingest.archive": _archive,
}


@pytest.mark.parametrize("command", ["propose", "try"])
@pytest.mark.parametrize("code", REFUSED)
def test_refused_as_at_ingest(command: str, code: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    file, out = REFUSED[code](tmp_path), tmp_path / "draft.yaml"
    words = ["propose", str(file), "--out", str(out)] if command == "propose" else ["try", str(LAYOUT), str(file)]
    assert main(["layout", *words]) != 0
    shown = capfd.readouterr()
    assert code in shown.out + shown.err
    assert not out.exists()


def test_a_second_file_is_looked_at_as_the_first(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    link, out = _link(tmp_path), tmp_path / "draft.yaml"
    assert main(["layout", "propose", str(tmp_path / "real.txt"), str(link), "--out", str(out)]) != 0
    assert "file.link" in capfd.readouterr().err
    assert not out.exists()


def test_a_large_file_is_not_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    file, out = tmp_path / "big.txt", tmp_path / "draft.yaml"
    with file.open("wb") as hollow:
        hollow.truncate(arriving.LARGEST_FILE_BYTES + 1)
    monkeypatch.setattr(arriving, "_read", pytest.fail)
    assert main(["layout", "propose", str(file), "--out", str(out)]) != 0
    assert "file.too-large" in capfd.readouterr().err
