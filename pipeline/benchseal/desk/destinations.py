"""Where a delivery goes: a folder, or a server by a carrier; and where the secrets of servers are kept.

A secret is named in the profile and kept by the machine: in the environment (``BENCHSEAL_SECRET_CITY_WATER`` for
``city-water``) or in the system's own key ring. It is never in a profile, on record, in a message or in an argument.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.carriers.http import HttpCarrier, HttpPlace
from benchseal.carriers.s3 import S3Carrier, S3Place
from benchseal.carriers.sftp import SftpCarrier, SftpPlace
from benchseal.export.places import place_words
from benchseal.problems import Problem, Stopped, Trouble

if TYPE_CHECKING:
    from benchseal.carriers.carrier import Carrier
    from benchseal.desk.site import Site
    from benchseal.records.profile import Profile, SendTo

KEY_RING_NAME = "benchseal"


def destination_of(site: Site, profile: Profile, to: str) -> str:
    """What the plan of a delivery says: ``to`` where it is given, else the profile's place, else the outbox."""
    if to:
        return str(Path(to).resolve())
    if profile.send_to is None:
        return str(site.outbox.resolve())
    return place_words(profile.send_to) if profile.send_to.kind != "folder" else str(Path(profile.send_to.folder))


def carrier_of(profile: Profile, destination: str) -> Carrier | None:
    """The way to ``destination``; None for a folder. Raises Stopped where the secret is not there."""
    place = profile.send_to
    return None if place is None or is_folder(profile, destination) else carrier(place)


def is_folder(profile: Profile, destination: str) -> bool:
    """Whether ``destination`` is a folder, not the profile's server."""
    place = profile.send_to
    return place is None or place.kind == "folder" or destination != place_words(place)


def carrier(place: SendTo) -> Carrier:
    """The way to a server. Raises Stopped where the secret is not there."""
    secret = secret_of(place.secret) if place.secret else ""
    if place.kind == "sftp":
        return SftpCarrier(SftpPlace(place.host, place.port or 22, place.user, place.folder, place.host_key, secret))
    if place.kind == "s3":
        return S3Carrier(S3Place(place.endpoint, place.region, place.bucket, place.folder, place.access_key, secret))
    return HttpCarrier(HttpPlace(place.url, secret))


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


def probe(profile: Profile, destination: str) -> str:
    """Whether the destination would take files; nothing is left there. Raises Stopped."""
    way = carrier_of(profile, destination)
    if way is not None:
        return way.probe()
    folder = Path(destination)
    if not folder.is_dir():
        what = "there is no such folder."
        raise Stopped(Trouble("delivery.unreachable", destination, what, "Make it, or mount the share."))
    if not os.access(folder, os.W_OK | os.X_OK):
        what = "this account may not write there."
        raise Stopped(Trouble("delivery.not-permitted", destination, what, "Give this account the right to write."))
    return f"{destination}: the folder is there and can be written."
