"""Deliveries to an S3-compatible server on loopback (moto's)."""

from __future__ import annotations

import contextlib
import threading
import time
from contextlib import contextmanager
from dataclasses import replace
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import TYPE_CHECKING, Any

import boto3
import pytest
from botocore.exceptions import ClientError
from moto.server import ThreadedMotoServer

from benchseal.carriers.carrier import Patience
from benchseal.carriers.s3 import S3Carrier, S3Place
from benchseal.problems import Stopped

if TYPE_CHECKING:
    from collections.abc import Iterator

FILES = {"p_1.csv": b"a;b\r\n" * 9000, "p_1.manifest.json": b'{"a":1}', "p_1.done": b""}
HASTY = Patience(())


@pytest.fixture(scope="module")
def endpoint() -> Iterator[str]:
    server = ThreadedMotoServer("127.0.0.1", 0, verbose=False)
    server.start()
    host, port = server.get_host_and_port()
    yield f"http://{host}:{port}"
    server.stop()


@pytest.fixture
def place(endpoint: str, request: pytest.FixtureRequest) -> S3Place:
    bucket = f"b{abs(hash(request.node.name))}"
    made = S3Place(endpoint, "eu-central-1", bucket, "in", "key id", "right secret")
    client(made).create_bucket(Bucket=bucket, CreateBucketConfiguration={"LocationConstraint": made.region})
    return made


def client(place: S3Place) -> Any:  # noqa: ANN401  boto3 is untyped
    keys = {"aws_access_key_id": "key id", "aws_secret_access_key": "s"}
    return boto3.client("s3", endpoint_url=place.endpoint, region_name=place.region, **keys)


def there(place: S3Place) -> dict[str, bytes]:
    own = client(place)
    names = [one["Key"] for one in own.list_objects_v2(Bucket=place.bucket).get("Contents", [])]
    held = {name: own.get_object(Bucket=place.bucket, Key=name)["Body"].read() for name in names}
    return {name.removeprefix("in/"): data for name, data in held.items()}


def stopped(place: S3Place) -> str:
    with pytest.raises(Stopped) as found:
        S3Carrier(place, HASTY).carry("D-00001", FILES)
    (notice,) = found.value.notices
    assert place.secret not in str(notice)
    return notice.code


def test_objects_arrive_and_a_repeat_changes_nothing(place: S3Place) -> None:
    assert S3Carrier(place, HASTY).carry("D-00001", FILES).placed == tuple(FILES)
    assert there(place) == FILES
    again = S3Carrier(place, HASTY).carry("D-00001", FILES)
    assert (again.placed, again.already) == ((), tuple(FILES))
    about = client(place).head_object(Bucket=place.bucket, Key="in/p_1.csv")
    assert about["Metadata"] == {"delivery": "D-00001"}


def test_another_object_of_the_name_is_never_replaced(place: S3Place) -> None:
    client(place).put_object(Bucket=place.bucket, Key="in/p_1.manifest.json", Body=b"foreign")
    assert stopped(place) == "delivery.name-taken"
    assert there(place)["p_1.manifest.json"] == b"foreign"
    assert "p_1.done" not in there(place)


def test_what_goes_wrong_says_who_has_to_act(place: S3Place) -> None:
    assert stopped(replace(place, bucket="no-such-bucket")) == "delivery.refused-there"
    assert stopped(replace(place, endpoint="http://127.0.0.1:1")) == "delivery.unreachable"


@pytest.mark.parametrize(
    ("stored", "said", "code"),
    [
        pytest.param(b"", {}, "", id="nothing said, and kept"),
        pytest.param(b"", {"ChecksumSHA256": "b3RoZXI="}, "", id="another sum said, and kept"),
        pytest.param(b"!", {}, "delivery.not-kept", id="nothing said, and other bytes kept"),
        pytest.param(
            b"!", {"ChecksumSHA256": "b3RoZXI="}, "delivery.not-kept", id="another sum said, other bytes kept"
        ),
    ],
)
def test_a_store_that_says_nothing_of_what_it_keeps_is_asked_for_it(
    place: S3Place, monkeypatch: pytest.MonkeyPatch, stored: bytes, said: dict[str, str], code: str
) -> None:
    from benchseal.carriers import s3  # noqa: PLC0415

    real, own = s3._client(place), client(place)  # noqa: SLF001  the store is what misbehaves

    class Store:
        def get_object(self, **words: Any) -> Any:  # noqa: ANN401
            return real.get_object(**words)

        def put_object(self, **words: Any) -> Any:  # noqa: ANN401
            own.put_object(Bucket=words["Bucket"], Key=words["Key"], Body=words["Body"] + stored)
            return said

    monkeypatch.setattr(s3, "_client", lambda _: Store())
    if code:
        assert stopped(place) == code
    else:
        assert S3Carrier(place, HASTY).carry("D-00001", FILES).placed == tuple(FILES)


@contextmanager
def answering(head: bytes, body: bytes, *drips: bytes, put: bytes = b"") -> Iterator[S3Place]:
    """A store whose every answer to reading is this one, cut off after ``body``, or dripping on."""
    ended = threading.Event()

    class Store(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            with contextlib.suppress(OSError):
                self.wfile.write(head + body)
                for drip in drips:
                    self.wfile.write(drip)
                    if ended.wait(0.05):
                        break

        def do_PUT(self) -> None:
            self.rfile.read(int(self.headers["Content-Length"]))
            self.wfile.write(put)

        def log_message(self, format: str, *args: object) -> None:  # noqa: A002
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Store)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield S3Place(f"http://127.0.0.1:{server.server_address[1]}", "eu-central-1", "results", "in", "key id", "secret")
    ended.set()
    server.shutdown()
    server.server_close()
    thread.join(20)


WHOLE = b"HTTP/1.0 200 OK\r\nContent-Length: 45000\r\n\r\n"


@pytest.mark.parametrize(
    ("head", "body"),
    [
        pytest.param(WHOLE, b"x" * 100, id="a part"),
        pytest.param(WHOLE, b"", id="nothing"),
        pytest.param(b"HTTP/1.0 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n", b"5\r\nab", id="half a chunk"),
        pytest.param(b"HTTP/1.0 404 Not Found\r\nContent-Length: 90\r\n\r\n", b"<Err", id="half an answer"),
        pytest.param(b"HTTP/1.0 200 OK\r\nContent-Le", b"", id="half a head"),
        pytest.param(b"HTTP/1.0 503 X\r\nContent-Length: 9\r\n\r\n", b"<html><a>", id="a page that is no answer"),
    ],
)
def test_a_download_that_breaks_off_is_a_store_that_is_away(head: bytes, body: bytes) -> None:
    with answering(head, body) as place:
        assert stopped(place) == "delivery.unreachable"


def test_a_store_that_drips_is_left() -> None:
    begun = time.monotonic()
    with answering(WHOLE, b"", *[b"x"] * 200) as place, pytest.raises(Stopped) as found:
        S3Carrier(place, HASTY, whole_s=0.3).carry("D-00001", {"p_1.csv": b"a" * 6000})
    assert found.value.notices[0].code == "delivery.unreachable"
    assert "within 0 seconds" in found.value.notices[0].what
    assert time.monotonic() - begun < 8


@pytest.mark.parametrize("code", ["ConditionalRequestConflict", "PreconditionFailed"])
def test_another_exporter_that_is_putting_the_same_is_no_other_file(
    place: S3Place, monkeypatch: pytest.MonkeyPatch, code: str
) -> None:
    from benchseal.carriers import s3  # noqa: PLC0415

    real, said = s3._client(place), [code]  # noqa: SLF001  the store is what is busy

    class Store:
        def get_object(self, **words: Any) -> Any:  # noqa: ANN401
            return real.get_object(**words)

        def put_object(self, **words: Any) -> Any:  # noqa: ANN401
            if said:
                raise ClientError({"Error": {"Code": said.pop()}}, "PutObject")
            return real.put_object(**words)

    monkeypatch.setattr(s3, "_client", lambda _: Store())
    assert S3Carrier(place, Patience((0.0,))).carry("D-00001", FILES).placed == tuple(FILES)
    assert there(place) == FILES


def test_a_probe_leaves_nothing(place: S3Place) -> None:
    assert "the bucket is there" in S3Carrier(place, HASTY).probe()
    assert there(place) == {}
    with pytest.raises(Stopped):
        S3Carrier(replace(place, bucket="no-such-bucket"), HASTY).probe()
    assert place.secret not in repr(S3Carrier(place)) + place.words
