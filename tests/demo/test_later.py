"""What happens after the release in the demo: a supplement, a withdrawal with its notice, everybody told. Invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.conftest import cheap_hashes

from benchseal.demo.play import Played, play
from benchseal.desk.founding import trust_of
from benchseal.desk.recipients import to_tell
from benchseal.identity.keys import Hardness
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from collections.abc import Iterator


@pytest.fixture(scope="module")
def gone_on(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Played]:
    folder = tmp_path_factory.mktemp("later") / "site"
    done = play(folder, lambda _: None, hashes=cheap_hashes(), hardness=Hardness(1, 8, 1), later=True)
    yield done
    done.site.store.close()


def test_nickel_stands_in_a_supplement_beside_what_stays_in_force(gone_on: Played) -> None:
    assert gone_on.whole
    first, supplement = gone_on.certificates[1], gone_on.certificates[3]
    assert supplement == f"{first}-S1"
    with gone_on.site.store.reading() as view:
        states = {row["number"]: row["state"] for row in view.rows("certificate")}
        (result,) = view.rows("result", element="Ni")
    assert (states[first], states[supplement]) == ("released", "released")
    assert (result["verdict"], result["unit"]) == ("pass", "ug/g")


def test_what_is_withdrawn_has_its_notice_and_nobody_is_left_to_tell(gone_on: Played) -> None:
    withdrawn = gone_on.certificates[2]
    trust = read_trust(trust_of(gone_on.site))
    assert isinstance(trust, Trust)
    report = verify_certificate((gone_on.site.certificates / f"{withdrawn}-W.pdf").read_bytes(), trust)
    assert report.word == "GENUINE"
    assert f"certificate {withdrawn} is withdrawn" in report.conclusion
    with gone_on.site.store.reading() as view:
        row = view.row("certificate", number=withdrawn)
        assert row is not None
        assert (row["state"], row["sealed"]) == ("withdrawn", report.withdraws)
        told = [one["person_told"] for one in view.rows("certificate_recipient", number=withdrawn, kind="told")]
        assert to_tell(view, withdrawn) == []
    assert told == ["Ardlea Lozenge Works", "J. Reed, purchasing"]
