"""Forged certificates: none is accepted, each is named.

Every file is made in the test from certificates that the demonstration's laboratory issued and sealed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.attacks.forged_aloud import ALOUD
from tests.attacks.forged_beside import BESIDE
from tests.attacks.forged_drawn import DRAWN
from tests.attacks.forged_figures import FIGURES
from tests.attacks.forged_inside import INSIDE
from tests.attacks.forged_kept import KEPT
from tests.attacks.forged_layout import LAYOUT
from tests.attacks.forged_outside import OUTSIDE
from tests.attacks.forged_sealed import SEALED
from tests.attacks.forged_stated import STATED, remade
from tests.attacks.forging import Forger, forger_of, printed

from benchseal.desk.founding import trust_of
from benchseal.desk.site import open_site
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    import pikepdf
    from tests.attacks.forged_outside import Attack

    from benchseal.demo.play import Played


EVERY = (*OUTSIDE, *INSIDE, *DRAWN, *KEPT, *BESIDE, *SEALED, *LAYOUT, *ALOUD, *FIGURES, *STATED)


@pytest.fixture(scope="module")
def forger(played: Played) -> Forger:
    site = open_site(played.site.folder)
    trust = read_trust(trust_of(site))
    assert isinstance(trust, Trust)
    made = forger_of(site, trust, played.certificates)
    site.store.close()
    return made


@pytest.mark.refuses("P11 11.30")
@pytest.mark.parametrize("attack", [pytest.param(attack, id=attack.name) for attack in EVERY])
def test_a_forged_file_is_named(forger: Forger, attack: Attack) -> None:
    forged = attack.make(forger)
    assert forged not in (forger.one.pdf, forger.other.pdf)
    report = verify_certificate(forged, forger.trust)
    assert report.word == attack.word, report.lines()
    said = " ".join(check.said for check in report.checks if check.holds is not True and check.name == attack.check)
    assert said, report.lines()
    assert attack.words in said, report.lines()


def test_each_attack_has_its_own_name() -> None:
    assert len({attack.name for attack in EVERY}) == len(EVERY) >= 40
    assert all(attack.words for attack in EVERY)


def test_without_a_lie_each_way_of_making_is_genuine(forger: Forger) -> None:
    """The tools alone spoil nothing: what they make otherwise is refused for the lie."""
    honest = (
        forger.one.pdf,
        forger.sealed(printed(forger.one)),
        forger.sealed_otherwise(),
        forger.redone(lambda _: None),
        forger.with_container(forger.container().rstrip(b"\0")),
        remade()(forger),
    )
    assert [verify_certificate(pdf, forger.trust).word for pdf in honest] == ["GENUINE"] * len(honest)


def _strokes(pdf: pikepdf.Pdf) -> None:
    """A thin dark line in the margin: no word of the page is touched."""
    content = pdf.pages[0].Contents
    content.write(content.read_bytes() + b"\nq\n0.1 0.1 0.1 RG\n1 w\n20 500 m\n24 506 l\nS\nQ")


@pytest.mark.refuses("P11 11.30")
def test_strokes_are_seen_where_the_page_is_drawn_again(forger: Forger) -> None:
    """The limit that the manual names, and what closes it."""
    told = forger.redone(_strokes)
    assert verify_certificate(told, forger.trust).word == "GENUINE"
    report = verify_certificate(told, forger.trust, redraw=True)
    assert report.word == "UNKNOWN"
    assert [check.name for check in report.checks if check.holds is None] == ["page drawn again"]
    assert "page 1 has other instructions" in next(check.said for check in report.checks if check.holds is None)
    assert verify_certificate(forger.one.pdf, forger.trust, redraw=True).word == "GENUINE"
