"""Files that come from outside, with any JSON in any place: problems or checks that fail, never an exception."""

from __future__ import annotations

import copy
import json
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.verify.making import trust
from tests.verify.test_status import made
from tests.verify.test_trust import sound

from benchseal.problems import Problem
from benchseal.records.canonical import canonical_bytes, digest
from benchseal.records.shape import plain_of
from benchseal.records.status_file import StatusFile
from benchseal.records.withdrawal import NoticeProof, WithdrawalNotice
from benchseal.verify.archive import MANIFEST, PDF, SCHEMA, TRUST, check_archive, zipped
from benchseal.verify.judge import read_trust_file
from benchseal.verify.notice import read_part
from benchseal.verify.status import read_status
from benchseal.verify.trust import Trust

if TYPE_CHECKING:
    from collections.abc import Iterator

ANY = st.recursive(
    st.none() | st.booleans() | st.integers(-9, 10**20) | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=9), inner, max_size=3),
    max_leaves=6,
)


def places(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:  # noqa: ANN401
    """Every member, at any depth."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    yield path
    for name, one in inner:
        yield from places(one, (*path, name))


def with_other(value: Any, path: tuple[str | int, ...], other: object) -> Any:  # noqa: ANN401
    if not path:
        return other
    made_of = copy.deepcopy(value)
    at = made_of
    for name in path[:-1]:
        at = at[name]
    at[path[-1]] = other
    return made_of


HISTORY: dict[str, Any] = {
    **sound(),
    "schema": "trust/3",
    "handovers": [{"object": "{}", "old_signature": "00", "new_signature": "00"}],
    "revoked": [{"key": "seal", "name": "x", "since": "2026-01-01", "at": "x", "reason": "x", "confirmed": ["x"]}],
    "time_stamp_authorities": [{"certificate_der_hex": "00", "policy": "1.2"}],
}


@pytest.mark.refuses("P11 11.30")
@given(st.data(), ANY, st.sampled_from([sound(), HISTORY]))
def test_a_trust_file_with_anything_anywhere(data: st.DataObject, other: object, file: dict[str, Any]) -> None:
    path = data.draw(st.sampled_from(list(places(file))))
    found = read_trust_file(json.dumps(with_other(file, path, other)).encode())
    assert isinstance(found, Trust) or (found and all(isinstance(one, Problem) for one in found))


@pytest.mark.parametrize("schema", [[], {}, 3, None, True, ["trust/1"]])
def test_a_trust_file_whose_schema_is_no_text(schema: object) -> None:
    found = read_trust_file(json.dumps({**sound(), "schema": schema}).encode())
    assert isinstance(found, tuple)
    assert "trust/1" in found[0].what


@pytest.mark.refuses("P11 11.30")
@given(st.data(), ANY)
def test_a_status_file_with_anything_anywhere(data: st.DataObject, other: object) -> None:
    file: Any = plain_of(made())
    path = data.draw(st.sampled_from(list(places(file))))
    told = with_other(file, path, other)
    found = read_status(json.dumps(told, sort_keys=True, separators=(",", ":")).encode(), "status.json", trust())
    assert isinstance(found, StatusFile) or (found and all(isinstance(one, Problem) for one in found))


@given(ANY)
def test_a_notice_that_is_anything(other: object) -> None:
    data = json.dumps(other).encode()
    for kind in (WithdrawalNotice, NoticeProof):
        record, check = read_part(kind, data, "notice")
        assert (record, check.holds) == (None, False)


@pytest.mark.refuses("P11 11.30")
@given(st.data(), ANY)
def test_the_list_of_an_archive_with_anything_anywhere(data: st.DataObject, other: object) -> None:
    files = {PDF: b"%PDF-", TRUST: json.dumps(sound()).encode()}
    listed = {name: {"bytes": len(one), "sha256": digest(one)} for name, one in files.items()}
    about = {"laboratory": "TQ", "ledger": "bs-1", "number": "C-1", "at": "2026-01-01T00:00:00.000Z", "program": "0"}
    manifest: Any = {"schema": SCHEMA, **about, "files": listed, "documents": []}
    path = data.draw(st.sampled_from(list(places(manifest))))
    told = json.dumps(with_other(manifest, path, other), sort_keys=True, separators=(",", ":")).encode()
    checks = check_archive(zipped({**files, MANIFEST: told}), trust())
    assert any(check.holds is not True for check in checks)
    assert all(isinstance(check.line, str) for check in checks)
    whole = canonical_bytes(manifest)
    assert check_archive(zipped({**files, MANIFEST: whole}), None)[0].holds


@given(st.data(), ANY)
def test_the_trust_file_in_an_archive_with_anything_anywhere(data: st.DataObject, other: object) -> None:
    path = data.draw(st.sampled_from(list(places(HISTORY))))
    told = json.dumps(with_other(HISTORY, path, other)).encode()
    checks = check_archive(zipped({PDF: b"%PDF-", TRUST: told, MANIFEST: b"{}"}), None)
    assert [check.holds for check in checks] == [False]
