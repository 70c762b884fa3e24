"""Where a delivery goes: a folder, or a server by a carrier; and where the secrets of servers are kept.

A secret is named in the profile and kept by the machine: in the environment (``BENCHSEAL_SECRET_CITY_WATER`` for
``city-water``) or in the system's own key ring. It is never in a profile, on record, in a message or in an argument.
"""

from __future__ import annotations

import os
import shutil
import stat
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.carriers.http import HttpCarrier, HttpPlace
from benchseal.carriers.s3 import S3Carrier, S3Place
from benchseal.carriers.sftp import SftpCarrier, SftpPlace
from benchseal.desk.site import OUTBOX, SETTINGS_FILE
from benchseal.export.places import place_words
from benchseal.problems import Problem, Stopped, Trouble
from benchseal.store.disks import network_file_system

if TYPE_CHECKING:
    from benchseal.carriers.carrier import Carrier
    from benchseal.desk.site import Site
    from benchseal.records.profile import Profile, SendTo

KEY_RING_NAME = "benchseal"
_UNMARKED = (
    " It is on a share, and the profile names no marker file: if the share is not mounted one day, "
    "deliveries go onto this machine's own disk and count as done."
)


def destination_of(site: Site, profile: Profile, to: str) -> str:
    """What the plan of a delivery says: ``to`` where it is given, else the profile's place, else the outbox.

    Raises Stopped for a folder of a site other than its outbox.
    """
    if to:
        return require_outside(str(Path(to).resolve()))
    if profile.send_to is None:
        return str(site.outbox.resolve())
    place = profile.send_to
    return place_words(place) if place.kind != "folder" else require_outside(str(Path(place.folder)))


def require_outside(folder: str) -> str:
    """``folder``, unless it belongs to a site and is not in its outbox. Raises Stopped."""
    path = Path(folder).resolve()
    own = next((one for one in (path, *path.parents) if (one / SETTINGS_FILE).is_file()), None)
    if own is not None and not path.is_relative_to(own / OUTBOX):
        what = f"it belongs to the site {own}: deliveries go into its outbox, or outside."
        raise Stopped(Problem("file.of-site", folder, what, "Nothing was planned. Name another folder."))
    return folder


def require_folder(to: str) -> None:
    """Before anything is planned for a folder that was named by hand: it is there, and not a site's. Raises Stopped."""
    folder = require_outside(str(Path(to).resolve()))
    if not Path(folder).is_dir():
        what = "it is not a folder." if Path(folder).exists() else "there is no such folder."
        remedy = "Nothing was planned. Make it, mount the share, or name another one."
        raise Stopped(Trouble("delivery.unreachable", folder, what, remedy))


def marker_of(profile: Profile, folder: str) -> str | None:
    """The file that must be in ``folder``, or empty for none; None where that is not the folder of the profile."""
    place = profile.send_to
    if place is None or place.kind != "folder" or Path(place.folder).resolve() != Path(folder).resolve():
        return None
    return place.marker


def require_marker(folder: str, marker: str) -> None:
    """That what stands at ``folder`` is the folder that is meant, by the file in it. Raises Stopped.

    Common practice, no standard: below an empty mount point nothing else tells a share that is not mounted.
    """
    if not marker:
        return
    try:
        is_there = stat.S_ISREG((Path(folder) / marker).lstat().st_mode)
    except OSError:
        is_there = False
    if not is_there:
        what = f"the marker file {marker} is not in it: the share is not mounted, or this is another folder."
        remedy = "Mount the share; where this is the folder that is meant, put the marker file there."
        raise Stopped(Trouble("delivery.unreachable", folder, what, f"{remedy} Then run the export again."))


def carrier_of(profile: Profile, destination: str) -> Carrier | None:
    """The way to ``destination``; None for a folder. Raises Stopped where the secret is not there."""
    place = profile.send_to
    return None if place is None or is_folder(profile, destination) else carrier(place)


def is_folder(profile: Profile, destination: str) -> bool:
    """Whether ``destination`` is a folder, not the profile's server."""
    place = profile.send_to
    return place is None or place.kind == "folder" or destination != place_words(place)


def is_place_of(profile: Profile, destination: str) -> bool:
    """Whether ``destination`` is where the profile sends to, be it a server or a folder."""
    return not is_folder(profile, destination) or marker_of(profile, destination) is not None


def carrier(place: SendTo) -> Carrier:
    """The way to a server. Raises Stopped where the secret is not there."""
    secret = secret_of(place.secret) if place.secret else ""
    if place.kind == "sftp":
        port = place.port or 22
        server = SftpPlace(place.host, port, place.user, place.folder, place.host_key, secret, place.read_back)
        return SftpCarrier(server)
    if place.kind == "s3":
        return S3Carrier(S3Place(place.endpoint, place.region, place.bucket, place.folder, place.access_key, secret))
    return HttpCarrier(HttpPlace(place.url, secret, place.read_back))


def secret_of(name: str) -> str:
    """The secret kept under ``name``. Raises Stopped."""
    variable = f"BENCHSEAL_SECRET_{name.upper().replace('-', '_')}"
    held = os.environ.get(variable, "") or _of_key_ring(name)
    if not held:
        what = f"no secret is kept under '{name}'."
        remedy = f"Set {variable} for the account that runs it, or store it in the key ring as {KEY_RING_NAME}/{name}."
        raise Stopped(Problem("settings.secret-missing", name, what, remedy))
    return held


def _of_key_ring(name: str) -> str:
    """The system's key ring, where the library for it is installed."""
    try:
        import keyring  # noqa: PLC0415  optional
        import keyring.errors  # noqa: PLC0415
    except ImportError:
        return ""
    try:
        return keyring.get_password(KEY_RING_NAME, name) or ""
    except keyring.errors.KeyringError:
        return ""


def probe(profile: Profile, destination: str, size: int = 0) -> str:
    """Whether the destination would take files of ``size`` bytes in all; nothing is left there. Raises Stopped.

    How much room a server has, nobody can ask.
    """
    way = carrier_of(profile, destination)
    if way is not None:
        return way.probe()
    folder = Path(destination)
    if not folder.is_dir():
        what = "it is not a folder." if folder.exists() else "there is no such folder."
        raise Stopped(Trouble("delivery.unreachable", destination, what, "Make it, or mount the share."))
    marker = marker_of(profile, destination) or ""
    require_marker(destination, marker)
    if _is_read_only(folder):
        what, remedy = "it is on a file system that can only be read.", "Mount it so that it can be written."
        raise Stopped(Trouble("delivery.read-only", destination, what, remedy))
    if not os.access(folder, os.W_OK | os.X_OK):
        what = "this account may not write there."
        raise Stopped(Trouble("delivery.not-permitted", destination, what, "Give this account the right to write."))
    if (room := shutil.disk_usage(folder).free) < size:
        what = f"{size} bytes are to go there, and {room} are free."
        raise Stopped(Trouble("delivery.disk-full", destination, what, "Free space there."))
    unmarked = "" if marker or not network_file_system(folder) else _UNMARKED
    return f"{destination}: the folder is there and can be written.{unmarked}"


def _is_read_only(folder: Path) -> bool:
    """Whether the file system a folder stands on takes no writing at all; Windows is not asked."""
    return hasattr(os, "statvfs") and bool(os.statvfs(folder).f_flag & os.ST_RDONLY)
