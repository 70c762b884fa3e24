"""Deliveries by SFTP (asyncssh): a temporary name, read back, then a rename that never replaces.

The server's key is pinned by its fingerprint in the profile: a server nobody vouched for gets nothing.
"""

from __future__ import annotations

import asyncio
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final, TypeVar

from benchseal.carriers.carrier import (
    Carried,
    Patience,
    disk_full,
    name_taken,
    not_kept,
    not_permitted,
    refused_there,
    unreachable,
)
from benchseal.problems import Problem, Stopped

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Mapping

T = TypeVar("T")

WAIT_S: Final = 60.0
_NO_ROOM: Final = re.compile("no space|disk full|quota", re.IGNORECASE)
_KEY_BEGINS: Final = "-----BEGIN "


@dataclass(frozen=True, slots=True)
class SftpPlace:
    """host_key: ``SHA256:…`` as ``ssh-keygen -l`` shows it. secret: a password, or a private key (PEM or OpenSSH)."""

    host: str
    port: int
    user: str
    folder: str
    host_key: str
    secret: str = field(repr=False)

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
        except (asyncssh.SFTPNoSuchFile, asyncssh.SFTPNoSuchPath, asyncssh.SFTPNotADirectory):
            raise refused_there(where, "there is no such folder") from None
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
        own = {"client_keys": [asyncssh.import_private_key(place.secret)], "password": None}
    options = asyncssh.SSHClientConnectionOptions(
        username=place.user, known_hosts=([], [], []), agent_path=None, config=None, login_timeout=20, **own
    )
    connection, _ = await asyncssh.create_connection(Pinned, place.host, place.port, options=options, encoding="utf-8")
    async with connection, connection.start_sftp_client() as sftp:
        return await work(sftp)


async def _look(sftp: Any, place: SftpPlace) -> str:  # noqa: ANN401
    names = await sftp.listdir(place.folder or ".")
    return f"{place.words}: the folder is there, with {len(set(names) - {'.', '..'})} names in it."


async def _put_all(sftp: Any, place: SftpPlace, files: Mapping[str, bytes]) -> Carried:  # noqa: ANN401
    placed, already = [], []
    for name, data in files.items():
        final = f"{place.folder.rstrip('/')}/{name}" if place.folder else name
        if await _is_there(sftp, final, data, place):
            already.append(name)
            continue
        part = f"{final}.part"
        async with sftp.open(part, "wb") as file:
            await file.write(data)
            await _flushed(file)
        async with sftp.open(part, "rb") as file:
            if await file.read() != data:
                raise not_kept(f"{place.words}, {name}")
        try:
            await sftp.rename(part, final)  # version 3 of the protocol: a name that is taken is never replaced
        except Exception:
            if not await _is_there(sftp, final, data, place):  # another exporter placed it meanwhile
                raise
            await sftp.remove(part)
        placed.append(name)
    return Carried(tuple(placed), tuple(already))


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
