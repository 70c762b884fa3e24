"""One site: a folder with its settings, its store and its private keys, and the clock it goes by."""

from __future__ import annotations

import tomllib
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.desk.clock import Clock, system_clock
from benchseal.identity.password_hashes import PasswordHashes, production_hasher
from benchseal.problems import Problem, Stopped, Trouble
from benchseal.store.sqlite import SqliteStore

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

SETTINGS_FILE = "benchseal.toml"
STORE_FILE = "store.sqlite"
PRIVATE = "private"
CERTIFICATES = "certificates"
OUTBOX = "outbox"
TRUST_FILE = "trust.json"


@dataclass(frozen=True, slots=True)
class Site:
    """An open site. hashes: how passwords are checked; a site made with other parameters still checks."""

    folder: Path
    ledger: str
    store: SqliteStore
    clock: Clock
    hashes: PasswordHashes

    @property
    def private(self) -> Path:
        """Folder of keys and unlock material; never in a copy."""
        return self.folder / PRIVATE

    @property
    def certificates(self) -> Path:
        """Folder of disposable copies of issued certificates."""
        return self.folder / CERTIFICATES

    @property
    def outbox(self) -> Path:
        """Folder deliveries go to when the command names none."""
        return self.folder / OUTBOX


def open_site(folder: Path, *, clock: Clock = system_clock, hashes: Callable[[], PasswordHashes] | None = None) -> Site:
    """Open a site. Raises Stopped where the folder is none, or its settings cannot be read."""
    ledger, store_file = settings_of(folder)
    store = SqliteStore.open(folder / store_file, ledger)
    made = hashes() if hashes is not None else PasswordHashes(production_hasher())
    return Site(folder=folder, ledger=ledger, store=store, clock=clock, hashes=made)


@contextmanager
def opened_anew(site: Site) -> Iterator[Site]:
    """The site that stands at the folder now, closed afterwards: for one question of a program that runs for long.

    An open file stays the old one when a folder is moved aside and another takes its place, so nothing is held open
    between two questions. Raises Stopped where the folder holds no site any longer, or that of another ledger.
    """
    now = open_site(site.folder, clock=site.clock, hashes=lambda: site.hashes)
    try:
        if now.ledger != site.ledger:
            what = f"the site has ledger {now.ledger}; it was {site.ledger}."
            remedy = "Put the site back, or start the program anew for the one that is there."
            raise Stopped(Trouble("settings.other-ledger", str(site.folder), what, remedy))
        yield now
    finally:
        now.store.close()


def settings_of(folder: Path) -> tuple[str, str]:
    """Ledger identifier and name of the store's file. Raises Stopped."""
    path = folder / SETTINGS_FILE
    try:
        settings = tomllib.loads(path.read_text(encoding="utf-8"))
    except (FileNotFoundError, NotADirectoryError):
        raise Stopped(
            Problem(
                "settings.no-site",
                str(folder),
                "this folder is not a site.",
                "Name a site with --site DIR, or make one with `benchseal init DIR`.",
            )
        ) from None
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
        raise Stopped(
            Problem("settings.unreadable", str(path), f"the settings cannot be read: {fault}.", "Put the file right.")
        ) from None
    section = settings.get("site", {})
    values = (section.get("ledger"), section.get("store", STORE_FILE)) if isinstance(section, dict) else (None, None)
    match values:
        case (str(ledger), str(store)) if ledger and store == Path(store).name:
            return ledger, store
        case _:
            raise Stopped(
                Problem(
                    "settings.incomplete",
                    str(path),
                    "[site] needs ledger (text) and store (a file name).",
                    "Put back the file that was made with the site.",
                )
            )


def settings_text(ledger: str) -> str:
    """Settings of a new site: deployment only. What can change a result, a right or a word is a document."""
    return (
        "# Where this site keeps its store. Made with the site; the ledger identifier never changes.\n"
        f'[site]\nledger = "{ledger}"\nstore = "{STORE_FILE}"\n'
    )
