"""Deliveries to an S3-compatible store (boto3): the manifest after what it lists, nothing replaced, checksums sent.

A store that knows conditional writes is asked for them (``If-None-Match: *``); of one that does not, the name is looked
at first, which leaves an instant in which a foreign object of the same name would be replaced.
"""

from __future__ import annotations

import hashlib
from base64 import b64encode
from dataclasses import dataclass, field
from functools import partial
from typing import TYPE_CHECKING, Any, Final

from benchseal.carriers.carrier import (
    BYTES_IN_A_SECOND,
    WHOLE_S,
    Carried,
    Patience,
    name_taken,
    not_kept,
    not_permitted,
    refused_there,
    unreachable,
    within,
)
from benchseal.problems import Problem, Stopped

if TYPE_CHECKING:
    from collections.abc import Mapping

_ABSENT: Final = frozenset({"404", "NoSuchKey", "NotFound"})
_FORBIDDEN: Final = frozenset({"403", "AccessDenied", "InvalidAccessKeyId", "SignatureDoesNotMatch"})
_TAKEN: Final = frozenset({"412", "PreconditionFailed", "409", "ConditionalRequestConflict"})


@dataclass(frozen=True, slots=True)
class S3Place:
    """endpoint: empty for the region's own. access_key: its public half; secret: the other."""

    endpoint: str
    region: str
    bucket: str
    folder: str
    access_key: str
    secret: str = field(repr=False)

    @property
    def words(self) -> str:
        """For people: without the secret."""
        at = f" at {self.endpoint}" if self.endpoint else ""
        return f"s3://{self.bucket}/{self.folder.strip('/')}{at}"


@dataclass(frozen=True, slots=True)
class S3Carrier:
    """One folder of one bucket. whole_s: of one request, and more for a large file."""

    place: S3Place
    patience: Patience = field(default_factory=Patience)
    whole_s: float = WHOLE_S

    def carry(self, delivery_id: str, files: Mapping[str, bytes]) -> Carried:
        """See ``Carrier``."""
        client = _client(self.place)
        placed: list[str] = []
        already: list[str] = []
        begun = self.patience.clock()
        for name, data in files.items():
            put = partial(self._put, client, delivery_id, name, data)
            is_new = self.patience.tried(put, begun)
            (placed if is_new else already).append(name)
        return Carried(tuple(placed), tuple(already))

    def probe(self) -> str:
        """See ``Carrier``."""
        client = _client(self.place)

        def look() -> str:
            self._asked(lambda: client.head_bucket(Bucket=self.place.bucket), self.place.words)
            return f"{self.place.words}: the bucket is there."

        return self.patience.tried(look)

    def _put(self, client: Any, delivery_id: str, name: str, data: bytes) -> bool:  # noqa: ANN401  boto3 is untyped
        key, where = "/".join(filter(None, (self.place.folder.strip("/"), name))), f"{self.place.words}, {name}"
        found = {"Bucket": self.place.bucket, "Key": key}
        if self._held(client, found, where, data) is not None:
            return self._same(client, found, where, data)
        checksum = b64encode(hashlib.sha256(data).digest()).decode()
        answer = self._asked(
            lambda: client.put_object(
                **found,
                Body=data,
                IfNoneMatch="*",
                ChecksumSHA256=checksum,
                Metadata={"delivery": delivery_id},
            ),
            where,
            len(data),
        )
        if answer is _TAKEN:
            return self._same(client, found, where, data)
        if answer.get("ChecksumSHA256") != checksum and self._held(client, found, where, data) != data:
            raise not_kept(where)  # a store that says nothing of what it keeps is asked for it
        return True

    def _same(self, client: Any, found: dict[str, str], where: str, data: bytes) -> bool:  # noqa: ANN401
        held = self._held(client, found, where, data)
        if held is None:  # another exporter is putting it there at this moment, or it was taken away
            raise unreachable(where, "the store says that an object has this name, and gives back none")
        if held != data:
            raise name_taken(where)
        return False

    def _held(self, client: Any, found: dict[str, str], where: str, data: bytes) -> bytes | None:  # noqa: ANN401
        """Bytes of an object, at most one more than ``data`` has; None where there is none."""
        answer = self._asked(lambda: _read(client.get_object(**found), len(data) + 1), where, len(data))
        if answer is _ABSENT:
            return None
        held, is_whole = answer
        if not is_whole and held != data and data.startswith(held):
            raise unreachable(where, "the answer may have been cut off")
        return bytes(held)

    def _asked(self, call: Any, where: str, size: int = 0) -> Any:  # noqa: ANN401
        """The answer; ``_ABSENT`` or ``_TAKEN`` for those. Raises Stopped for every other fault.

        call: also reads what comes, which can break off.
        """
        from botocore.exceptions import BotoCoreError, ClientError, FlexibleChecksumError  # noqa: PLC0415
        from botocore.parsers import ResponseParserError  # noqa: PLC0415
        from urllib3.exceptions import HTTPError  # noqa: PLC0415  not all of it is wrapped while a body is read

        try:
            return within(self.whole_s + size / BYTES_IN_A_SECOND, call, where)
        except ClientError as fault:
            code = str(fault.response.get("Error", {}).get("Code", ""))
            status = int(fault.response.get("ResponseMetadata", {}).get("HTTPStatusCode", 0))
            if code in _ABSENT and fault.operation_name != "HeadBucket":
                return _ABSENT
            if code in _TAKEN:
                return _TAKEN
            if code in _FORBIDDEN:
                raise not_permitted(where, f"the store answers {code}") from None
            if status >= 500 or status == 429:
                raise unreachable(where, f"the store answers {code}") from None
            raise refused_there(where, f"the store answers {code}") from None
        except FlexibleChecksumError:
            raise not_kept(where, "the store's own checksum does not fit the bytes it gives back") from None
        except ResponseParserError:
            raise unreachable(where, "the answer is none of such a store") from None
        except (BotoCoreError, HTTPError, OSError) as fault:
            raise unreachable(where, str(fault) or type(fault).__name__) from None


def _read(answer: Any, most: int) -> tuple[bytes, bool]:  # noqa: ANN401
    """At most so many bytes, and whether an end too early would have been seen.

    Asked until nothing comes: only then is it said that the rest broke off.
    """
    found, body = b"", answer["Body"]
    while len(found) < most and (more := body.read(most - len(found))):
        found += more
    headers = answer.get("ResponseMetadata", {}).get("HTTPHeaders", {})
    return found, "content-length" in headers or "transfer-encoding" in headers


def _client(place: S3Place) -> Any:  # noqa: ANN401  boto3 is untyped
    try:
        import boto3  # noqa: PLC0415  optional, and slow to import
        from botocore.config import Config  # noqa: PLC0415
    except ImportError:
        what, remedy = "the library boto3 is not installed.", "Install benchseal with the extra `s3`."
        raise Stopped(Problem("settings.extra-missing", "s3", what, remedy)) from None
    session = boto3.session.Session(
        aws_access_key_id=place.access_key, aws_secret_access_key=place.secret, region_name=place.region or "us-east-1"
    )
    config = Config(retries={"max_attempts": 1}, connect_timeout=10, read_timeout=60, s3={"addressing_style": "path"})
    return session.client("s3", endpoint_url=place.endpoint or None, config=config)
