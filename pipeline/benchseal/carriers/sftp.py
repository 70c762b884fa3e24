"""Deliveries by SFTP (asyncssh): a temporary name of its own, read back, a rename that never replaces, read again.

The server's key is pinned by its fingerprint in the profile: a server nobody vouched for gets nothing.
"""

from __future__ import annotations

import asyncio
import contextlib
import re
import secrets
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final, TypeVar

from benchseal.carriers.carrier import (
    Carried,
    Patience,
    disk_full,
    name_taken,
    not_kept,
    not_permitted,
    not_whole,
    refused_there,
    secret_unfit,
    unreachable,
)
from benchseal.problems import Problem, Stopped

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Mapping

T = TypeVar("T")

WAIT_S: Final = 60.0
_SWEEP_S: Final = 10.0
_NO_ROOM: Final = re.compile("no space|disk full|quota", re.IGNORECASE)
_KEY_BEGINS: Final = "-----BEGIN "
_PART: Final = re.compile(r"(.+?)(?:\.[0-9a-f]{12})?\.part")


@dataclass(frozen=True, slots=True)
class SftpPlace:
    """host_key: ``SHA256:…`` as ``ssh-keygen -l`` shows it. secret: a password, or a private key (PEM or OpenSSH).

    read_back: whether a file must still be there after its rename; a receiver may take it away at once.
    """

    host: str
    port: int
    user: str
    folder: str
    host_key: str
    secret: str = field(repr=False)
    read_back: bool = True

    @property
    def words(self) -> str:
        """For people: without the secret."""
        return f"sftp://{self.user}@{self.host}:{self.port}/{self.folder.lstrip('/')}"


@dataclass(frozen=True, slots=True)
class SftpCarrier:
    """One folder on one server."""

    place: SftpPlace
    patience: Patience = field(default_factory=Patience)

    def carry(self, delivery_id: str, files: Mapping[str, bytes]) -> Carried:
        """See ``Carrier``."""
        del delivery_id  # the names hold it
        return self.patience.tried(lambda: self._with(lambda sftp: _put_all(sftp, self.place, files)))

    def probe(self) -> str:
        """See ``Carrier``."""
        return self.patience.tried(lambda: self._with(lambda sftp: _look(sftp, self.place)))

    def _with(self, work: Callable[[Any], Awaitable[T]]) -> T:
        asyncssh = _asyncssh()
        where = self.place.words
        try:
            return asyncio.run(asyncio.wait_for(_connected(asyncssh, self.place, work), WAIT_S))
        except asyncssh.HostKeyNotVerifiable:
            raise refused_there(where, "the server's key is not the one the profile names") from None
        except asyncssh.PermissionDenied:
            raise not_permitted(where, "the server does not accept user and secret") from None
        except (asyncssh.SFTPPermissionDenied, asyncssh.SFTPWriteProtect) as fault:
            raise not_permitted(where, f"{fault.reason or 'permission denied'}") from None
        except (asyncssh.SFTPNoSuchFile, asyncssh.SFTPNoSuchPath):
            raise unreachable(where, "there is no such folder") from None  # as of a folder of this machine
        except asyncssh.SFTPNotADirectory:
            raise refused_there(where, "it is not a folder") from None
        except (asyncssh.SFTPNoSpaceOnFilesystem, asyncssh.SFTPQuotaExceeded):
            raise disk_full(where, "the server has no space left") from None
        except asyncssh.SFTPFailure as fault:
            if _NO_ROOM.search(fault.reason or ""):  # version 3 of the protocol has no code for it
                raise disk_full(where, f"the server has no space left: {fault.reason}") from None
            raise refused_there(where, f"the server refuses: {fault.reason or 'no reason given'}") from None
        except (OSError, TimeoutError, asyncssh.Error) as fault:
            why = str(fault) or type(fault).__name__
            raise unreachable(where, why if why.isprintable() else "the answer is no SSH") from None


def _asyncssh() -> Any:  # noqa: ANN401  an optional library
    try:
        import asyncssh  # noqa: PLC0415  optional, and slow to import
    except ImportError:
        what, remedy = "the library asyncssh is not installed.", "Install benchseal with the extra `sftp`."
        raise Stopped(Problem("settings.extra-missing", "sftp", what, remedy)) from None
    return asyncssh


async def _connected(asyncssh: Any, place: SftpPlace, work: Callable[[Any], Awaitable[T]]) -> T:  # noqa: ANN401
    class Pinned(asyncssh.SSHClient):  # type: ignore[misc]  # the library is loaded late
        def validate_host_public_key(self, host: str, addr: str, port: int, key: Any) -> bool:  # noqa: ANN401
            """Only the key that is named; the names are the library's."""
            del host, addr, port
            return bool(key.get_fingerprint() == place.host_key)

    own: dict[str, Any] = {"password": place.secret, "client_keys": None}
    if place.secret.lstrip().startswith(_KEY_BEGINS):
        own = {"client_keys": [_key(asyncssh, place)], "password": None}
    options = asyncssh.SSHClientConnectionOptions(
        username=place.user, known_hosts=([], [], []), agent_path=None, config=None, login_timeout=20, **own
    )
    connection, _ = await asyncssh.create_connection(Pinned, place.host, place.port, options=options, encoding="utf-8")
    async with connection, connection.start_sftp_client() as sftp:
        return await work(sftp)


def _key(asyncssh: Any, place: SftpPlace) -> Any:  # noqa: ANN401
    """The private key. What the library says of one it cannot read is not repeated: it may quote it."""
    try:
        return asyncssh.import_private_key(place.secret)
    except asyncssh.KeyEncryptionError:
        raise secret_unfit(place.words, "it is a private key with a passphrase") from None
    except Exception:  # noqa: BLE001  whatever a library for keys raises of bytes that are none
        why = "it begins like a private key and is none that can be read; it may have a passphrase, or be cut off"
        raise secret_unfit(place.words, why) from None


async def _look(sftp: Any, place: SftpPlace) -> str:  # noqa: ANN401
    names = await sftp.listdir(place.folder or ".")
    return f"{place.words}: the folder is there, with {len(set(names) - {'.', '..'})} names in it."


async def _put_all(sftp: Any, place: SftpPlace, files: Mapping[str, bytes]) -> Carried:  # noqa: ANN401
    placed: list[str] = []
    already: list[str] = []
    for name, data in files.items():
        (placed if await _put(sftp, place, name, data) else already).append(name)
    with contextlib.suppress(Exception):  # whatever a server has against it: every file is there
        await asyncio.wait_for(_sweep(sftp, place, files), _SWEEP_S)
    return Carried(tuple(placed), tuple(already))


async def _put(sftp: Any, place: SftpPlace, name: str, data: bytes) -> bool:  # noqa: ANN401
    """Whether the file is new there.

    No two exporters share a part: one that begins while another renames would otherwise empty what is renamed.
    """
    final = _path(place, name)
    if await _is_there(sftp, final, data, place):
        return False
    part = f"{final}.{secrets.token_hex(6)}.part"
    try:
        await _write(sftp, part, data, f"{place.words}, {name}")
        await sftp.rename(part, final)  # version 3 of the protocol: a name that is taken is never replaced
    except Exception as fault:
        with contextlib.suppress(Exception):
            await sftp.remove(part)
        if await _is_there(sftp, final, data, place):  # another exporter placed it meanwhile, and swept ours
            return False
        await _blame(sftp, place, fault)
        raise
    await _read_back(sftp, final, data, place)
    return True


async def _write(sftp: Any, part: str, data: bytes, where: str) -> None:  # noqa: ANN401
    async with sftp.open(part, "xb") as file:
        await file.write(data)
        await _flushed(file)
    async with sftp.open(part, "rb") as file:
        kept = await file.read(len(data) + 1)
    if kept != data:
        raise not_whole(where, len(kept), len(data))


async def _blame(sftp: Any, place: SftpPlace, fault: Exception) -> None:  # noqa: ANN401
    """A part that is gone is no folder that is gone. Raises Stopped where the folder is there."""
    import asyncssh  # noqa: PLC0415

    if isinstance(fault, asyncssh.SFTPNoSuchFile) and await sftp.isdir(place.folder or "."):
        raise unreachable(place.words, "a temporary file was removed there while it was put down") from None


async def _read_back(sftp: Any, final: str, data: bytes, place: SftpPlace) -> None:  # noqa: ANN401
    """What stands under the final name now. Raises Stopped."""
    where = f"{place.words}, {final.rpartition('/')[2]}"
    if await sftp.lexists(final):
        async with sftp.open(final, "rb") as file:
            if await file.read(len(data) + 1) != data:
                raise not_kept(where)
    elif place.read_back:
        why = "it was renamed and is not there: lost, or taken away at once (then the profile says read_back: false)"
        raise not_kept(where, why)


async def _sweep(sftp: Any, place: SftpPlace, files: Mapping[str, bytes]) -> None:  # noqa: ANN401
    """Parts of interrupted tries: of these files, and of any file that stands under its final name."""
    names = {str(name) for name in await sftp.listdir(place.folder or ".")}
    for name in sorted(names):
        part = _PART.fullmatch(name)
        if part is not None and (part[1] in files or (part[1] in names and name != f"{part[1]}.part")):
            await sftp.remove(_path(place, name))


def _path(place: SftpPlace, name: str) -> str:
    return f"{place.folder.rstrip('/')}/{name}" if place.folder else name


async def _flushed(file: Any) -> None:  # noqa: ANN401
    """Many servers have no such call; then nothing more can be asked."""
    import asyncssh  # noqa: PLC0415

    try:
        await file.fsync()
    except (asyncssh.SFTPOpUnsupported, NotImplementedError):
        return


async def _is_there(sftp: Any, final: str, data: bytes, place: SftpPlace) -> bool:  # noqa: ANN401
    if not await sftp.lexists(final):
        return False
    if await sftp.isfile(final) and not await sftp.islink(final):
        async with sftp.open(final, "rb") as file:
            if await file.read(len(data) + 1) == data:
                return True
    raise name_taken(f"{place.words}, {final.rpartition('/')[2]}")
