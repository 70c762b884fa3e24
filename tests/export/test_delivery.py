"""Names, manifest, and the receiver's check of a delivery."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from typing import Any

import pytest

from benchseal.export.delivery import (
    Bundle,
    LedgerSpan,
    Material,
    bundle,
    check_manifest,
    done_name,
    file_name,
    manifest_name,
)
from benchseal.records.profile import Column, FileForm, Profile
from benchseal.records.released import Delivery, ReleasedRow
from benchseal.records.run import DocumentRef

FILE = FileForm("utf-8", ",", "needed", "crlf", ".", header_line=True)
PROFILE = Profile(
    "profile", "partner", "Partner", FILE, "refuse", (Column("ID", "result_id"), Column("C", "change_kind"))
)
DELIVERY = Delivery("D-00007", 7, "2026-03-04T14:02:11.123Z", DocumentRef("partner", 3, "ab" * 32))
SPAN = LedgerSpan("L-1", 5, 90, 91, "cd" * 32)
ROWS = [ReleasedRow("1", "1", "new"), ReleasedRow("2", "2", "corrected"), ReleasedRow("3", "1", "new")]
STEM = "partner_20260304T140211Z_D-00007"


def bundled(profile: Profile = PROFILE) -> Bundle:
    made = bundle(ROWS, profile, DELIVERY, Material(SPAN, "benchseal 0.1.0"))
    assert isinstance(made, Bundle), made
    return made


def test_names_are_plain_ascii_and_short() -> None:
    assert file_name(DELIVERY, PROFILE) == f"{STEM}.csv"
    assert manifest_name(DELIVERY) == f"{STEM}.manifest.json"
    assert done_name(DELIVERY) == f"{STEM}.done"
    longest = Delivery("D" * 36, 1, DELIVERY.produced_at, DocumentRef("p" * 30, 1, ""))
    assert max(len(name(longest)) for name in (manifest_name, done_name)) <= 100
    assert len(file_name(longest, dataclasses.replace(PROFILE, file=FileForm(kind="parquet")))) <= 100


@pytest.mark.parametrize(
    "unfit",
    [
        dataclasses.replace(DELIVERY, delivery_id="../x"),
        dataclasses.replace(DELIVERY, delivery_id=""),
        dataclasses.replace(DELIVERY, delivery_id="D" * 37),
        dataclasses.replace(DELIVERY, produced_at="2026-03-04"),
        dataclasses.replace(DELIVERY, profile=DocumentRef("Über", 1, "")),
    ],
)
def test_unfit_identifiers_have_no_file_name(unfit: Delivery) -> None:
    with pytest.raises(ValueError, match="no file name"):
        file_name(unfit, PROFILE)


def test_a_bundle_is_data_then_manifest_then_done_file() -> None:
    made = bundled(dataclasses.replace(PROFILE, done_file=True))
    assert made.order == (f"{STEM}.csv", f"{STEM}.manifest.json", f"{STEM}.done")
    assert made.files[f"{STEM}.done"] == b""
    assert tuple(made.files) == made.order
    assert bundled().order == made.order[:2]
    assert bundled() == bundled()


def test_the_manifest_says_everything_as_plain_json_reads_it() -> None:
    made = bundled()
    data = made.files[f"{STEM}.csv"]
    assert json.loads(made.files[f"{STEM}.manifest.json"]) == {
        "schema": "delivery-manifest/1",
        "program": "benchseal 0.1.0",
        "delivery_id": "D-00007",
        "number": 7,
        "produced_at": "2026-03-04T14:02:11.123Z",
        "profile": {"id": "partner", "version": 3, "sha256": "ab" * 32},
        "files": [
            {"name": f"{STEM}.csv", "bytes": len(data), "sha256": hashlib.sha256(data).hexdigest(), "rows": 3}
        ],
        "counts": {"new": 2, "corrected": 1, "withdrawn": 0},
        "ledger": {"id": "L-1", "first": 5, "last": 90, "checkpoint": {"size": 91, "root": "cd" * 32}},
    }  # fmt: skip


def test_the_manifest_names_numbers_that_were_given_up() -> None:
    material = Material(SPAN, "benchseal 0.1.0", given_up=(2, 5))
    made = bundle(ROWS, PROFILE, DELIVERY, material)
    assert not isinstance(made, tuple)
    stated = made.files[f"{STEM}.manifest.json"]
    assert json.loads(stated)["given_up"] == [2, 5]
    assert check_manifest(stated, {f"{STEM}.csv": made.files[f"{STEM}.csv"]}) == ()


def test_problems_of_the_rows_come_instead_of_a_bundle() -> None:
    unsound = dataclasses.replace(PROFILE, columns=PROFILE.columns[:1])
    problems = bundle(ROWS, unsound, DELIVERY, Material(SPAN, "benchseal 0.1.0"))
    assert isinstance(problems, tuple)
    assert [problem.code for problem in problems] == ["profile.change-not-shown"]


@pytest.mark.parametrize("changes", [{"first": 0}, {"first": 91}, {"last": 92}, {"checkpoint_size": 89}])
def test_a_span_that_cannot_be_is_our_bug(changes: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="ledger span"):
        bundle(ROWS, PROFILE, DELIVERY, Material(dataclasses.replace(SPAN, **changes), "benchseal 0.1.0"))


def test_every_changed_byte_of_the_data_is_found() -> None:
    made = bundled()
    name, manifest = f"{STEM}.csv", made.files[f"{STEM}.manifest.json"]
    assert check_manifest(manifest, {name: made.files[name]}) == ()
    for place in range(len(made.files[name])):
        altered = bytearray(made.files[name])
        altered[place] ^= 1
        found = check_manifest(manifest, {name: bytes(altered)})
        assert [(finding.code, finding.where) for finding in found] == [("delivery.file-differs", name)]


@pytest.mark.parametrize(
    ("files", "code"),
    [
        pytest.param({}, "delivery.file-missing", id="data missing"),
        pytest.param({"x.csv": b""}, "delivery.file-unlisted", id="file too many"),
    ],
)
def test_missing_and_unlisted_files(files: dict[str, bytes], code: str) -> None:
    made = bundled()
    given = files if not files else {f"{STEM}.csv": made.files[f"{STEM}.csv"], **files}
    assert [one.code for one in check_manifest(made.files[f"{STEM}.manifest.json"], given)] == [code]


@pytest.mark.parametrize(
    "data", [b"", b"{}", b"[]", b"\xff", b'{"schema": "delivery-manifest/1"}', b'{"schema":"other"}']
)
def test_what_is_no_manifest(data: bytes) -> None:
    assert [one.code for one in check_manifest(data, {})] == ["delivery.manifest-unreadable"]
