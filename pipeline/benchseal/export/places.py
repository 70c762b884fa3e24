"""Which words each kind of ``send_to`` has, and how a place is called for people."""

from __future__ import annotations

from pathlib import PurePath, PurePosixPath, PureWindowsPath
from typing import TYPE_CHECKING, Final
from urllib.parse import unquote, urlsplit

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
_ODD: Final = {"s3": "empty, '.' or '..'", "sftp": "'..'", "http": "empty, '.', '..' or holds a slash"}
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
    if place.kind in {"s3", "sftp"} and not _goes_straight(place.folder.strip("/"), place.kind):
        what = f"folder is {place.folder!r}: it has a part that is {_ODD[place.kind]}, and servers differ in those."
        yield Fault("profile.place-folder", what, "Name each folder on the way once, as in/results.")
    for address in filter(None, (place.url, place.endpoint)):
        if not _is_address(address):
            what = f"{address} is no address: the host or the port cannot be."
            yield Fault("profile.place-address", what, "Write https://HOST/PATH, with a port from 1 to 65535 if any.")
            continue
        parts = urlsplit(address)
        if not _goes_straight(parts.path.removeprefix("/").removesuffix("/"), "http"):
            what = f"the path of {address} has a part that is {_ODD['http']}, and servers differ in those."
            yield Fault("profile.place-address", what, "Write it as the server has it, as https://HOST/in/results.")
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


def _goes_straight(path: str, kind: str) -> bool:
    """Whether each part of a path names a folder: else one place would have two names, or lie elsewhere than it says.

    Of an address each part is looked at as it is after decoding (RFC 3986, 5.2.4 and 6.2.2); on a server by SFTP ``.``
    and an empty part name nothing else than the path without them, and the whole path may be ``.``.
    """
    parts = [unquote(part) if kind == "http" else part for part in path.split("/")] if path else []
    odd = {".."} if kind == "sftp" else {"", ".", ".."}
    return not any(part in odd or (kind == "http" and {*part} & {"/", "\\"}) for part in parts)


def _is_whole(folder: str) -> bool:
    r"""Whether a path begins at a root, a drive or a share, on the system this runs on, and goes nowhere up.

    A path of the other system is a relative one here: ``C:\out`` on Linux is a folder of that name, somewhere.
    """
    is_up = any(".." in way.parts for way in (PurePosixPath(folder), PureWindowsPath(folder)))
    return PurePath(folder).is_absolute() and not is_up


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
