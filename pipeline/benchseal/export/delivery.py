"""One delivery: the names of its files, its manifest, and the receiver's check of both."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from benchseal.export.arranged import arranged
from benchseal.export.descriptors import CSVW_ENDS, PACKAGE_ENDS, csvw, data_package
from benchseal.export.render import render, suffix_of
from benchseal.problems import Finding
from benchseal.records.canonical import canonical_bytes, digest, parse_canonical

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from benchseal.problems import Problem
    from benchseal.records.canonical import Digest, Json
    from benchseal.records.profile import Profile
    from benchseal.records.released import Delivery, ReleasedRow, Together

MANIFEST_SCHEMA = "delivery-manifest/1"

_PROFILE_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,29}")
_DELIVERY_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,35}")
_TIME = re.compile(r"(\d{4})-(\d\d)-(\d\d)T(\d\d):(\d\d):(\d\d)\.\d{3}Z", re.ASCII)


@dataclass(frozen=True, slots=True)
class LedgerSpan:
    """Which ledger the rows come from: first and last entry whose results are in, and a checkpoint at or after it."""

    ledger: str
    first: int
    last: int
    checkpoint_size: int
    checkpoint_root: Digest


@dataclass(frozen=True, slots=True)
class Material:
    """What a delivery needs besides its rows. program: name and version, as the manifest states them.

    certificates: sealed PDFs by number, for a profile that wants them beside. sign: the manifest to its signature
    file, for a profile that wants one; without it there is none. given_up: numbers of the profile's deliveries that
    were given up as not arrived, so that nobody waits for them.
    """

    span: LedgerSpan
    program: str
    certificates: Mapping[str, bytes] = field(default_factory=dict)
    sign: Callable[[bytes], bytes] | None = None
    given_up: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Bundle:
    """Everything one delivery puts down. order: data, what stands beside it, manifest, signature, done file."""

    files: Mapping[str, bytes]
    order: tuple[str, ...]


def bundle(
    rows: Sequence[ReleasedRow | Together], profile: Profile, delivery: Delivery, material: Material
) -> Bundle | tuple[Problem, ...]:
    """The files of one delivery, or every problem."""
    data = render(rows, profile, delivery)
    if isinstance(data, tuple):
        return data
    name = file_name(delivery, profile)
    files = {name: data}
    if "csvw" in profile.beside:
        files[f"{_stem(delivery)}.{CSVW_ENDS}"] = canonical_bytes(csvw(profile, name))
    if "table_schema" in profile.beside:
        files[f"{_stem(delivery)}.{PACKAGE_ENDS}"] = canonical_bytes(data_package(profile, name, data))
    if "certificates" in profile.beside:
        files |= {f"{number}.pdf": sealed for number, sealed in sorted(material.certificates.items())}
    placed = arranged(rows, profile)
    if isinstance(placed, tuple):
        raise AssertionError("what could be rendered could be arranged")  # noqa: TRY004  a fault of the program
    stated = manifest(placed.rows, files, delivery, material)
    files[manifest_name(delivery)] = stated
    if material.sign is not None and "signature" in profile.beside:
        files[signature_name(delivery)] = material.sign(stated)
    if profile.done_file:
        files[done_name(delivery)] = b""
    return Bundle(files, tuple(files))


def file_name(delivery: Delivery, profile: Profile) -> str:
    """``{profile}_{utc}_{delivery_id}.csv``, or what ends the name of the profile's kind of file.

    ASCII, at most 100 characters. Raises ValueError for unfit identifiers.
    """
    return f"{_stem(delivery)}.{suffix_of(profile)}"


def manifest_name(delivery: Delivery) -> str:
    """Name of the manifest beside ``file_name``."""
    return f"{_stem(delivery)}.manifest.json"


def signature_name(delivery: Delivery) -> str:
    """Name of the detached signature of the manifest, where the profile asks for one."""
    return f"{_stem(delivery)}.manifest.sig"


def done_name(delivery: Delivery) -> str:
    """Name of the empty file that ends a delivery, where the profile asks for one."""
    return f"{_stem(delivery)}.done"


def manifest(rows: Sequence[ReleasedRow], files: Mapping[str, bytes], delivery: Delivery, material: Material) -> bytes:
    """Canonical JSON that says what was delivered and where the ledger stood. files: the data file first.

    Raises ValueError for a span that cannot be: a checkpoint before the last entry, or a first after the last.
    """
    span = material.span
    if not 1 <= span.first <= span.last <= span.checkpoint_size:
        raise ValueError(f"ledger span {span.first} to {span.last} under checkpoint {span.checkpoint_size} cannot be")
    kinds = Counter(row.change_kind for row in rows)
    counts: dict[str, Json] = {kind: kinds[kind] for kind in ("new", "corrected", "withdrawn")}
    checkpoint: dict[str, Json] = {"size": span.checkpoint_size, "root": span.checkpoint_root}
    return canonical_bytes(
        {
            "schema": MANIFEST_SCHEMA,
            "program": material.program,
            "delivery_id": delivery.delivery_id,
            "number": delivery.number,
            **({"given_up": [*material.given_up]} if material.given_up else {}),
            "produced_at": delivery.produced_at,
            "profile": {
                "id": delivery.profile.id,
                "version": delivery.profile.version,
                "sha256": delivery.profile.digest,
            },
            "files": [
                {"name": name, "bytes": len(data), "sha256": digest(data), **({} if place else {"rows": len(rows)})}
                for place, (name, data) in enumerate(files.items())
            ],
            "counts": counts,
            "ledger": {"id": span.ledger, "first": span.first, "last": span.last, "checkpoint": checkpoint},
        }
    )


def check_manifest(manifest_bytes: bytes, files: Mapping[str, bytes]) -> tuple[Finding, ...]:
    """What differs between a manifest and the files that came with it, by name; empty when they fit.

    files: every file received but manifest, signature and done file. It proves sameness with the manifest, not where
    the manifest came from.
    """
    try:
        listed = _listed_files(parse_canonical(manifest_bytes))
    except (ValueError, KeyError, TypeError) as fault:
        return (_finding("manifest-unreadable", "manifest", f"it is not a manifest of this program: {fault}."),)
    found = [_finding("file-missing", name, "the manifest lists it.") for name in listed if name not in files]
    found += [_finding("file-unlisted", name, "the manifest does not list it.") for name in files if name not in listed]
    for name in (name for name in listed if name in files):
        size, sha256 = listed[name]
        if (len(files[name]), digest(files[name])) != (size, sha256):
            found.append(
                _finding(
                    "file-differs", name,
                    f"{len(files[name])} bytes with SHA-256 {digest(files[name])}; manifest: {size} bytes, {sha256}.",
                )
            )  # fmt: skip
    return tuple(found)


def _listed_files(value: Json) -> dict[str, tuple[Json, Json]]:
    if not isinstance(value, dict) or value["schema"] != MANIFEST_SCHEMA or not isinstance(value["files"], list):
        raise ValueError("other schema")
    entries = [entry for entry in value["files"] if isinstance(entry, dict)]
    return {str(entry["name"]): (entry["bytes"], entry["sha256"]) for entry in entries}


def _finding(code: str, name: str, what: str) -> Finding:
    return Finding(f"delivery.{code}", name, what, "Do not load it; ask the laboratory to deliver again.")


def _stem(delivery: Delivery) -> str:
    time = _TIME.fullmatch(delivery.produced_at)
    if not time or not _PROFILE_ID.fullmatch(delivery.profile.id) or not _DELIVERY_ID.fullmatch(delivery.delivery_id):
        raise ValueError(
            f"no file name for {delivery.profile.id!r}, {delivery.produced_at!r}, {delivery.delivery_id!r}"
        )
    year, month, day, hour, minute, second = time.groups()
    return f"{delivery.profile.id}_{year}{month}{day}T{hour}{minute}{second}Z_{delivery.delivery_id}"
