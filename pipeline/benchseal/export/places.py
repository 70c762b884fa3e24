"""Which words each kind of ``send_to`` has, and how a place is called for people."""

from __future__ import annotations

from pathlib import PurePosixPath, PureWindowsPath
from typing import TYPE_CHECKING, Final
from urllib.parse import urlsplit

from benchseal.export.cells import Fault

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from benchseal.records.profile import SendTo

_WORDS: Final = (
    "folder", "host", "port", "user", "host_key", "url", "endpoint", "region", "bucket", "access_key", "secret",
    "marker", "read_back",
)  # fmt: skip
_NEEDED: Final[Mapping[str, tuple[str, ...]]] = {
    "folder": ("folder",),
    "sftp": ("host", "user", "folder", "host_key", "secret"),
    "http": ("url",),
    "s3": ("bucket", "access_key", "secret"),
}
_ALSO: Final[Mapping[str, tuple[str, ...]]] = {
    "folder": ("marker",), "sftp": ("port", "read_back"), "http": ("secret", "read_back"),
    "s3": ("endpoint", "region", "folder"),
}  # fmt: skip
_THIS_MACHINE: Final = frozenset({"localhost", "127.0.0.1", "::1"})


def place_faults(place: SendTo) -> Iterator[Fault]:
    """Every fault of a place's words."""
    needed, also = _NEEDED[place.kind], _ALSO[place.kind]
    for name in _WORDS:
        given = not place.read_back if name == "read_back" else bool(getattr(place, name))
        if name in needed and not given:
            yield Fault("profile.place-word-missing", f"{place.kind} needs {name}.", f"Add {name} to send_to.")
        if given and name not in needed + also:
            what = f"{name} says nothing about {place.kind}."
            yield Fault("profile.place-word-unfit", what, f"Leave {name} out.")
    if place.kind == "folder" and place.folder and not _is_whole(place.folder):
        what = f"folder is {place.folder!r}: where that is depends on where the command is started."
        yield Fault(
            "profile.place-folder", what, "Give the whole path, from the root, drive or share on, without '..'."
        )
    for address in filter(None, (place.url, place.endpoint)):
        if not _is_address(address):
            what = f"{address} is no address: the host or the port cannot be."
            yield Fault("profile.place-address", what, "Write https://HOST/PATH, with a port from 1 to 65535 if any.")
            continue
        parts = urlsplit(address)
        if parts.scheme != "https" and parts.hostname not in _THIS_MACHINE:
            what = f"{address} would carry results and secret in the open."
            yield Fault("profile.place-in-the-open", what, "Use https.")


def _is_address(address: str) -> bool:
    """Whether an address has a host and, if any, a port there can be."""
    try:
        parts = urlsplit(address)
        return bool(parts.hostname) and parts.port != 0  # ``port`` raises where it is out of range
    except ValueError:
        return False


def _is_whole(folder: str) -> bool:
    """Whether a path begins at a root, a drive or a share, of either system, and goes nowhere up."""
    ways = (PurePosixPath(folder), PureWindowsPath(folder))
    return any(way.is_absolute() for way in ways) and not any(".." in way.parts for way in ways)


def place_words(place: SendTo) -> str:
    """The place for people and for the record; without a secret, since there is none in it."""
    match place.kind:
        case "sftp":
            return f"sftp://{place.user}@{place.host}:{place.port or 22}/{place.folder.lstrip('/')}"
        case "http":
            return place.url
        case "s3":
            at = f" at {place.endpoint}" if place.endpoint else ""
            return f"s3://{place.bucket}/{place.folder.strip('/')}{at}"
        case "folder":
            return place.folder
