"""Deliveries to a real SFTP server on loopback (asyncssh)."""

from __future__ import annotations

import asyncio
import threading
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import asyncssh
import pytest

from benchseal.carriers.carrier import Patience
from benchseal.carriers.sftp import SftpCarrier, SftpPlace
from benchseal.problems import Stopped

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

FILES = {"p_1.csv": b"a;b\r\n" * 9000, "p_1.manifest.json": b'{"a":1}', "p_1.done": b""}
USER_KEY = asyncssh.generate_private_key("ssh-ed25519")
HASTY = Patience(())


class Door(asyncssh.SSHServer):
    """One user, by password or key."""

    def begin_auth(self, username: str) -> bool:  # noqa: ARG002  the library's names
        return True

    def password_auth_supported(self) -> bool:
        return True

    def validate_password(self, username: str, password: str) -> bool:
        return (username, password) == ("lab", "right secret")

    def public_key_auth_supported(self) -> bool:
        return True

    def validate_public_key(self, username: str, key: asyncssh.SSHKey) -> bool:
        return username == "lab" and key.public_data == USER_KEY.public_data


class Server:
    """An SFTP server in a thread, over one folder."""

    def __init__(self, root: Path) -> None:
        self.key = asyncssh.generate_private_key("ssh-ed25519")
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, daemon=True)
        self._thread.start()
        self._acceptor = self._do(self._start(root))
        self.port: int = self._acceptor.get_port()

    async def _start(self, root: Path) -> Any:  # noqa: ANN401  asyncssh's acceptor
        return await asyncssh.listen(
            "127.0.0.1", 0, server_factory=Door, server_host_keys=[self.key],
            sftp_factory=lambda channel: asyncssh.SFTPServer(channel, chroot=str(root).encode()),
        )  # fmt: skip

    def _do(self, work: Any) -> Any:  # noqa: ANN401
        return asyncio.run_coroutine_threadsafe(work, self._loop).result(20)

    def close(self) -> None:
        async def end() -> None:
            self._acceptor.close()
            await self._acceptor.wait_closed()

        self._do(end())
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(20)
        self._loop.close()


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("sftp")


@pytest.fixture(scope="module")
def server(root: Path) -> Iterator[Server]:
    made = Server(root)
    yield made
    made.close()


@pytest.fixture
def place(server: Server, root: Path, request: pytest.FixtureRequest) -> SftpPlace:
    folder = request.node.name.split("[")[0][-40:]
    (root / folder).mkdir(exist_ok=True)
    return SftpPlace("127.0.0.1", server.port, "lab", folder, server.key.get_fingerprint(), "right secret")


def stopped(place: SftpPlace, files: dict[str, bytes] | None = None) -> str:
    with pytest.raises(Stopped) as found:
        SftpCarrier(place, HASTY).carry("D-00001", files or FILES)
    (notice,) = found.value.notices
    assert place.secret not in str(notice)
    return notice.code


def there(root: Path, place: SftpPlace) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in (root / place.folder).iterdir()}


def test_files_arrive_whole_and_a_repeat_changes_nothing(root: Path, place: SftpPlace) -> None:
    assert SftpCarrier(place, HASTY).carry("D-00001", FILES).placed == tuple(FILES)
    assert there(root, place) == FILES
    again = SftpCarrier(place, HASTY).carry("D-00001", FILES)
    assert (again.placed, again.already) == ((), tuple(FILES))
    assert there(root, place) == FILES


def test_what_an_interrupted_try_left_is_finished(root: Path, place: SftpPlace) -> None:
    (root / place.folder / "p_1.csv").write_bytes(FILES["p_1.csv"])
    (root / place.folder / "p_1.manifest.json.part").write_bytes(b"half")
    done = SftpCarrier(place, HASTY).carry("D-00001", FILES)
    assert (done.placed, done.already) == (("p_1.manifest.json", "p_1.done"), ("p_1.csv",))
    assert there(root, place) == FILES


def test_another_file_of_the_name_is_never_replaced(root: Path, place: SftpPlace) -> None:
    (root / place.folder / "p_1.manifest.json").write_bytes(b"foreign")
    assert stopped(place) == "delivery.name-taken"
    assert there(root, place)["p_1.manifest.json"] == b"foreign"
    assert "p_1.done" not in there(root, place)


def test_a_link_is_no_file(root: Path, place: SftpPlace) -> None:
    (root / place.folder / "elsewhere").write_bytes(FILES["p_1.csv"])
    (root / place.folder / "p_1.csv").symlink_to("elsewhere")
    assert stopped(place) == "delivery.name-taken"


def test_a_private_key_lets_in_too(root: Path, place: SftpPlace) -> None:
    own = replace(place, secret=USER_KEY.export_private_key().decode())
    assert SftpCarrier(own, HASTY).carry("D-00001", FILES).placed == tuple(FILES)
    assert there(root, own) == FILES


def test_a_server_with_another_key_gets_nothing(root: Path, place: SftpPlace) -> None:
    other = asyncssh.generate_private_key("ssh-ed25519").get_fingerprint()
    assert stopped(replace(place, host_key=other)) == "delivery.refused-there"
    assert there(root, place) == {}


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"secret": "wrong secret"}, "delivery.not-permitted"),
        ({"user": "other"}, "delivery.not-permitted"),
        ({"folder": "no/such"}, "delivery.refused-there"),
        ({"port": 1}, "delivery.unreachable"),
        ({"host": "no-such-host.invalid"}, "delivery.unreachable"),
    ],
)
def test_what_goes_wrong_says_who_has_to_act(place: SftpPlace, change: dict[str, Any], code: str) -> None:
    assert stopped(replace(place, **change)) == code


@pytest.mark.parametrize(
    ("fault", "code"),
    [
        (asyncssh.SFTPFailure("No space left on device"), "delivery.disk-full"),
        (asyncssh.SFTPFailure("Disk quota exceeded"), "delivery.disk-full"),
        (asyncssh.SFTPNoSpaceOnFilesystem("full"), "delivery.disk-full"),
        (asyncssh.SFTPPermissionDenied("rename"), "delivery.not-permitted"),
        (asyncssh.SFTPFailure("rename"), "delivery.refused-there"),
    ],
)
def test_a_server_that_says_no_is_heard(place: SftpPlace, fault: Exception, code: str) -> None:
    from benchseal.carriers import sftp  # noqa: PLC0415

    async def no(*_: Any) -> Any:  # noqa: ANN401
        raise fault

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sftp, "_put_all", no)
        assert stopped(place) == code


def test_a_server_that_comes_back_is_met(root: Path, place: SftpPlace) -> None:
    from benchseal.carriers import sftp  # noqa: PLC0415

    tries: list[float] = []
    real = sftp._connected  # noqa: SLF001  the network itself is what fails

    async def away_twice(*args: Any) -> Any:  # noqa: ANN401
        if len(tries) < 2:
            raise ConnectionRefusedError("away")
        return await real(*args)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sftp, "_connected", away_twice)
        carrier = SftpCarrier(place, Patience((1.0, 2.0), tries.append, lambda: 0.5))
        assert carrier.carry("D-00001", FILES).placed == tuple(FILES)
    assert tries == [1.0, 2.0]
    assert there(root, place) == FILES


def test_a_probe_leaves_nothing(root: Path, place: SftpPlace) -> None:
    assert "the folder is there" in SftpCarrier(place, HASTY).probe()
    assert there(root, place) == {}
    with pytest.raises(Stopped):
        SftpCarrier(replace(place, folder="no/such"), HASTY).probe()


def test_no_secret_in_words_and_representations(place: SftpPlace) -> None:
    assert place.secret not in repr(SftpCarrier(place)) + place.words
