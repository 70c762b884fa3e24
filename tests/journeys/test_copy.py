"""An inspection copy: made by the command line, whole by itself, and nothing can be changed in it unseen."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from tests.journeys.commands import APPROVER, Line
from tools import check_copy as alone

from benchseal.desk.inspection import _holds, _readable
from benchseal.records.canonical import canonical_bytes
from benchseal.upkeep.copying import read_copy
from benchseal.verify.copy import check_copy, signed_bytes
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from collections.abc import Callable

TOOL = Path(__file__).parents[2] / "tools" / "check_copy.py"
ABOUT_ARDLEA = ("--certificate", "C-2026-00001", "--lot", "A-2")
OF_OTHERS = ("corrigan", "selby", "Corrigan", "Y-B1/1", "S-00005", "B-2", "Drink powder")


def key_of(trust: Path) -> str:
    return str(json.loads(trust.read_text(encoding="utf-8"))["ledger_keys"][-1]["public_key_hex"])


def copied(line: Line, folder: Path, *words: str) -> Path:
    answer = line("copy", *words, "--out", str(folder), "--json", by=(APPROVER,))
    assert answer.code == 0, answer
    assert answer.json["files"] > 10
    return folder


def trust_in(line: Line) -> Trust:
    found = read_trust(json.loads((line.site / "trust.json").read_bytes()))
    assert isinstance(found, Trust)
    return found


@pytest.mark.clause("P11 11.10(b)")
def test_a_copy_verifies_by_itself_and_by_the_one_file_check(line: Line, tmp_path: Path) -> None:
    before = line.kept()
    copy = copied(line, tmp_path / "copy", *ABOUT_ARDLEA)
    assert line.kept() == before, "a copy changes no record"
    trust = str(shutil.copy(line.site / "trust.json", tmp_path / "trust.json"))
    answer = line("verify", "--copy", str(copy), "--trust", trust)
    assert (answer.code, answer.out.splitlines()[0]) == (0, "GENUINE"), answer
    done = subprocess.run(  # noqa: S603
        [sys.executable, str(TOOL), str(copy), "--key", key_of(tmp_path / "trust.json")],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout.splitlines()[-1]) == (0, "Everything that was looked at holds.")
    listed = (copy / "SHA256SUMS").read_text(encoding="utf-8").splitlines()
    assert all(hashlib.sha256((copy / one[66:]).read_bytes()).hexdigest() == one[:64] for one in listed)
    assert (copy / "certificates" / "C-2026-00001.pdf").read_bytes() == (
        line.site / "certificates" / "C-2026-00001.pdf"
    ).read_bytes()
    assert "signed by the laboratory's ledger key" in (copy / "README.txt").read_text(encoding="utf-8")


def test_short_words_in_packed_bytes_of_a_certificate_are_no_names(line: Line) -> None:
    """A lot of two signs stood by chance in the packed bytes, and the certificate was left out of the copy."""
    pdf = (line.site / "certificates" / "C-2026-00001.pdf").read_bytes()
    readable = _readable(pdf)
    tokens = set(re.findall(r"(?<![0-9A-Za-z])[0-9A-Z]{2}(?![0-9A-Za-z])", pdf.decode("latin-1")))
    by_chance = {word for word in tokens if word not in readable.decode("utf-8", "replace")}
    assert by_chance
    assert not _holds(pdf, by_chance)
    assert _holds(pdf, {"A-1"})
    assert _holds(pdf, {"Maren Holt"}), "what stands in its attachments or on its pages is found"


def test_raw_files_and_runs_asked_for_are_there_byte_for_byte(line: Line, tmp_path: Path) -> None:
    copy = copied(line, tmp_path / "copy", "--run", "R-00003")
    (raw,) = (path for path in (copy / "raw").iterdir() if "furnace-lead-first" in path.name)
    assert raw.read_bytes() == (line.site / "inbox" / "furnace-lead-first.txt").read_bytes()
    kinds = {json.loads(item["body"])["kind"] for item in json.loads((copy / "trail/entries.json").read_bytes())}
    assert {
        "site.founded",
        "run.ingested",
        "run.submitted",
        "run.reviewed",
        "sample.added",
        "preparation.added",
    } <= kinds
    assert "document.approved" in kinds


@pytest.mark.refuses("P11 11.10(d)")
def test_other_customers_stand_there_as_digests_only_unless_an_authority_asks(line: Line, tmp_path: Path) -> None:
    copy = read_copy(copied(line, tmp_path / "copy", *ABOUT_ARDLEA))
    for word in OF_OTHERS:
        pattern = re.compile(rb"(?<![0-9A-Za-z])" + re.escape(word.encode()) + rb"(?![0-9A-Za-z])")
        assert [name for name, data in copy.items() if pattern.search(data)] == [], word
    withheld = json.loads(copy["manifest.json"])["withheld"]
    assert any("raw of run/R-00001" in str(one.get("why")) for one in withheld)
    assert any("entry" in one for one in withheld)
    whole = read_copy(copied(line, tmp_path / "whole", *ABOUT_ARDLEA, "--for-authority"))
    assert json.loads(whole["manifest.json"])["withheld"] == []
    assert any(b"Y-B1/1" in data for name, data in whole.items() if name.startswith("raw/"))
    assert all(check.holds for check in check_copy(whole, trust_in(line)))


@pytest.mark.refuses("P11 11.10(d)")
def test_no_secret_is_in_a_copy(line: Line, tmp_path: Path) -> None:
    copy = read_copy(copied(line, tmp_path / "copy", "--lot", "A-1", "B-1", "C-1", "--for-authority"))
    secrets: list[bytes] = [word.encode() for word in line.secrets(APPROVER)[1:]]
    secrets += [text.encode() for (text,) in line.rows("SELECT hash FROM password")]
    for (secret,) in line.rows("SELECT secret FROM run_secret"):
        secrets += [secret, secret.hex().encode()]
    secrets.append((line.site / "private" / "unlock").read_bytes().strip())
    assert len(secrets) > 10
    assert [name for name, data in copy.items() for one in secrets if one in data] == []


def _bytes(name: str, change: Callable[[bytes], bytes]) -> Callable[[dict[str, bytes]], None]:
    def attack(files: dict[str, bytes]) -> None:
        files[name] = change(files[name])

    return attack


def _signatures_swapped(files: dict[str, bytes]) -> None:
    items: list[dict[str, Any]] = json.loads(files["trail/entries.json"])
    signed = [item for item in items if "body" in item and "signature" in json.loads(item["body"])["facts"]]
    one, other = (json.loads(item["body"]) for item in signed[:2])
    one["facts"]["signature"], other["facts"]["signature"] = other["facts"]["signature"], one["facts"]["signature"]
    signed[0]["body"], signed[1]["body"] = canonical_bytes(one).decode(), canonical_bytes(other).decode()
    files["trail/entries.json"] = canonical_bytes([*items])
    _listed_again(files)


def _listed_again(files: dict[str, bytes]) -> None:
    """The list made again, and signed by a key of one's own: the best somebody without the laboratory's key can do."""
    manifest = json.loads(files["manifest.json"])
    manifest["files"] = [
        {"name": name, "size": len(data), "sha256": hashlib.sha256(data).hexdigest()}
        for name, data in sorted(files.items()) if name != "manifest.json"
    ]  # fmt: skip
    manifest["signature"] = Ed25519PrivateKey.generate().sign(signed_bytes(manifest)).hex()
    files["manifest.json"] = canonical_bytes(manifest)


def _withheld_in_words(files: dict[str, bytes]) -> None:
    manifest = json.loads(files["manifest.json"])
    manifest["withheld"] = ["everything"]
    files["manifest.json"] = canonical_bytes(manifest)


def _left_out_and_listed_again(files: dict[str, bytes]) -> None:
    del files[next(name for name in files if name.startswith("objects/"))]
    _listed_again(files)


@pytest.mark.refuses("P11 11.10(b)")
@pytest.mark.parametrize(
    ("attack", "checks"),
    [
        pytest.param(lambda files: files.pop("trail/trail.csv"), {"files"}, id="a missing file"),
        pytest.param(_bytes("trail/trail.csv", lambda data: data + b" "), {"files"}, id="a changed byte"),
        pytest.param(lambda files: files.update({"raw/more.txt": b"1"}), {"files"}, id="an extra file"),
        pytest.param(
            _bytes("manifest.json", lambda data: data.replace(b'"whole":false', b'"whole":true')),
            {"list"},
            id="a changed list",
        ),
        pytest.param(lambda files: files.pop("manifest.json"), {"list"}, id="no list"),
        pytest.param(_withheld_in_words, {"list"}, id="a list whose members are of another type"),
        pytest.param(_signatures_swapped, {"list", "entries"}, id="signatures swapped"),
        pytest.param(_left_out_and_listed_again, {"list", "objects"}, id="an object left out, the list made again"),
        pytest.param(_bytes("trail/entries.json", lambda _: b"[}"), {"files", "entries"}, id="entries broken"),
        pytest.param(_bytes("trail/checkpoint.json", lambda _: b"{}"), {"files", "checkpoint"}, id="no checkpoint"),
    ],
)
def test_what_is_changed_in_a_copy_is_found(
    line: Line, tmp_path: Path, attack: Callable[[dict[str, bytes]], None], checks: set[str]
) -> None:
    copy = copied(line, tmp_path / "copy", *ABOUT_ARDLEA)
    files = read_copy(copy)
    attack(files)
    found = check_copy(files, trust_in(line))
    assert checks <= {check.name for check in found if check.holds is False}
    shutil.rmtree(copy)
    for name, data in files.items():
        (copy / name).parent.mkdir(parents=True, exist_ok=True)
        (copy / name).write_bytes(data)
    key = key_of(line.site / "trust.json")
    if "manifest.json" in files:
        assert alone.check(copy, key)[0]
    else:
        with pytest.raises(KeyError):
            alone.check(copy, key)
    assert line("verify", "--copy", str(copy)).code == 6


def test_another_laboratory_s_trust_leaves_it_open(line: Line, tmp_path: Path) -> None:
    copy = copied(line, tmp_path / "copy", "--run", "R-00001")
    assert [check.holds for check in check_copy(read_copy(copy), None)] == [True, None]
    trust = json.loads((line.site / "trust.json").read_bytes())
    trust["ledger"] = "bs-0123456789abcdef"
    (tmp_path / "other.json").write_text(json.dumps(trust), encoding="utf-8")
    assert line("verify", "--copy", str(copy), "--trust", str(tmp_path / "other.json")).code == 3


def test_nothing_is_overwritten_and_nothing_half_is_left(line: Line, tmp_path: Path) -> None:
    (tmp_path / "copy").mkdir()
    (tmp_path / "copy" / "mine.txt").write_text("mine", encoding="utf-8")
    answer = line("copy", "--run", "R-00001", "--out", str(tmp_path / "copy"), by=(APPROVER,))
    assert (answer.code, "copy.exists" in answer.err) == (4, True)
    assert [path.name for path in (tmp_path / "copy").iterdir()] == ["mine.txt"]
    for words, code in (
        (("--run", "R-99999"), "copy.unknown"),
        (("--certificate", "C-1"), "copy.unknown"),
        (("--lot", "Z-9"), "lot.unknown"),
        ((), "copy.nothing"),
    ):
        answer = line("copy", *words, "--out", str(tmp_path / "new"), by=(APPROVER,))
        assert code in answer.err
        assert not (tmp_path / "new").exists()
    assert "verify.copy-beside" in line("verify", "--copy", "x", "--all").err
    assert "copy.missing" in line("verify", "--copy", str(tmp_path / "nowhere")).err


def test_what_a_killed_attempt_left_goes_with_the_next_copy_and_nothing_else(line: Line, tmp_path: Path) -> None:
    left, others = tmp_path / "copy.0a1b2c3d.part", (tmp_path / "copy.of-mine.part", tmp_path / "other.0a1b2c3d.part")
    for folder in (left, *others):
        (folder / "raw").mkdir(parents=True)
        (folder / "raw" / "half").write_text("half", encoding="utf-8")
    copied(line, tmp_path / "copy", "--run", "R-00001")
    assert not left.exists()
    assert all((folder / "raw" / "half").is_file() for folder in others)


def test_a_copy_after_a_new_key_verifies_with_the_newer_trust_file(line: Line, tmp_path: Path) -> None:
    assert line("key", "rotate", "tree", "--reason", "yearly", by=("p-sil.penhallow", APPROVER)).code == 0
    copy = copied(line, tmp_path / "copy", "--lot", "A-1")
    assert line("verify", "--copy", str(copy)).code == 0
    assert alone.check(copy, key_of(line.site / "trust.json"))[0] == []


def test_links_are_no_part_of_a_copy(line: Line, tmp_path: Path) -> None:
    copy = copied(line, tmp_path / "copy", "--run", "R-00001")
    (copy / "link").symlink_to(line.site / "private")
    assert "copy.not-a-file" in line("verify", "--copy", str(copy)).err
