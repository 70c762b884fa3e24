from __future__ import annotations

import hashlib
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.pictures.rosette import SIDE, rosette

DIGEST = hashlib.sha256(b"a certificate").digest()
DIGESTS = st.binary(min_size=32, max_size=32)


def points(path: str) -> list[tuple[float, float]]:
    flat = [float(number) for number in re.findall(r"-?[0-9]+\.[0-9]", path)]
    return list(zip(flat[::2], flat[1::2], strict=True))


@given(DIGESTS)
def test_it_fits_its_square_and_is_closed(digest: bytes) -> None:
    for ring in rosette(digest).rings:
        stations = points(ring.path)
        assert ring.path.endswith("Z")
        assert stations[0] == stations[-1]
        radii = [((x - SIDE / 2) ** 2 + (y - SIDE / 2) ** 2) ** 0.5 for x, y in stations[::3]]
        assert max(radii) <= SIDE / 2
        assert min(radii) > 0


def test_it_is_the_same_every_time() -> None:
    """Pinned: a change of the figure would make an issued certificate and a later verify page differ."""
    drawing = repr(rosette(DIGEST)).encode()
    assert hashlib.sha256(drawing).hexdigest() == "bb0f52828e4638e72245dd31412f847221050444dda45058bbe17b65c6c18f41"


@given(DIGESTS, st.integers(min_value=0, max_value=255))
def test_one_bit_changes_every_ring(digest: bytes, bit: int) -> None:
    other = bytearray(digest)
    other[bit // 8] ^= 1 << bit % 8
    before, after = rosette(digest).rings, rosette(bytes(other)).rings
    assert all(one != two for one, two in zip(before, after, strict=True))


@pytest.mark.parametrize("length", [0, 16, 31, 33])
def test_only_a_whole_digest_is_drawn(length: int) -> None:
    with pytest.raises(ValueError, match="32 bytes"):
        rosette(bytes(length))
