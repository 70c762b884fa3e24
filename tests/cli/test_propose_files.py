"""Files a layout is drafted from or tried on: what is no plain file is refused as at ingest."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from benchseal.cli import main
from benchseal.desk import arriving
from benchseal.documents.patterns import compiled
from benchseal.documents.reading import read_document

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


@pytest.mark.parametrize("picture", ["same.yaml", "./same.yaml", "there/../same.yaml", "link.yaml"])
def test_the_draft_and_its_picture_are_two_files(
    picture: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "there").mkdir()
    (tmp_path / "link.yaml").symlink_to(tmp_path / "same.yaml")
    (tmp_path / "a.txt").write_bytes(b"Sample;Abs\nBlank;0.001\n")
    assert main(["layout", "propose", "a.txt", "--out", "same.yaml", "--picture", picture]) != 0
    assert "layout.draft-there" in capfd.readouterr().err
    assert not (tmp_path / "same.yaml").exists()
    assert main(["layout", "propose", "a.txt", "--out", "same.yaml", "--picture", "other.html"]) == 0
    assert b"kind: layout" in (tmp_path / "same.yaml").read_bytes()


@pytest.mark.parametrize("sign", ["\f", "\ufeff"])
def test_a_sign_no_document_may_hold_is_written_by_its_number(sign: str, tmp_path: Path) -> None:
    text = f"Serial: TQ-4\nRoom{sign}7 lower\nPos,Sample,Abs\n1,Blank,0.001\n2,Std 1,0.101\nEnd{sign}3\n"
    (tmp_path / "a.txt").write_bytes(text.encode())
    out = tmp_path / "a.yaml"
    assert main(["layout", "propose", str(tmp_path / "a.txt"), "--out", str(out)]) == 0
    draft = out.read_bytes().decode()
    assert sign not in draft
    assert f"Room\\x{{{ord(sign):X}}}[0-9]+ +lower" in draft
    read = read_document(draft.encode(), "a.yaml")
    assert isinstance(read, tuple), "nobody has said yet what the element is"
    assert "documents.control-sign" not in {problem.code for problem in read}
    assert compiled(f"Room\\x{{{ord(sign):X}}}[0-9]+ +lower").fullmatch(f"Room{sign}12 lower")
