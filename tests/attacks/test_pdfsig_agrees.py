"""poppler's pdfsig, another program by other people, on the same files: plain, amended and forged ones.

pdfsig judges the signature alone: it says whether it holds and whether it covers the file. It knows neither our trust
nor what is inside. So it must find good what is GENUINE; and wherever it finds fault, the file must not be GENUINE.
"""

from __future__ import annotations

import shutil
import subprocess
from typing import TYPE_CHECKING, NamedTuple

import pytest
from tests.attacks.forged_outside import OUTSIDE
from tests.attacks.forging import Forger, forger_of
from tests.journeys.commands import ANALYST, Line
from tests.journeys.conftest import line  # noqa: F401  a fixture
from tests.journeys.test_after_release import WHY, corrected
from tests.journeys.test_after_release import issued as released
from tests.journeys.test_corrections import good

from benchseal.desk.founding import trust_of
from benchseal.desk.site import open_site
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.judge import judge, read_trust_file
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from pathlib import Path

    from benchseal.demo.play import Played

pytestmark = pytest.mark.skipif(shutil.which("pdfsig") is None, reason="poppler is not installed")

# Forgeries whose signature pdfsig finds good all the same: other bytes of one signature, or what it does not ask.
LOOKS_GOOD_TO_PDFSIG = ("container: ", "stranger: the laboratory's name")


class Said(NamedTuple):
    """What pdfsig says: how many signatures, whether each holds, whether all cover the whole file."""

    signatures: int
    hold: bool
    whole: bool

    @property
    def good(self) -> bool:
        return self.signatures == 1 and self.hold and self.whole


def pdfsig(path: Path) -> Said:
    command = ["pdfsig", "-nocert", str(path)]
    done = subprocess.run(command, capture_output=True, text=True, errors="replace", check=False)  # noqa: S603
    found = done.stdout.count("Signature #")
    valid, whole = done.stdout.count("Signature is Valid."), done.stdout.count("  - Total document signed")
    return Said(found, valid == found > 0, whole == found > 0)


@pytest.fixture(scope="module")
def forger(played: Played) -> Forger:
    site = open_site(played.site.folder)
    trust = read_trust(trust_of(site))
    assert isinstance(trust, Trust)
    made = forger_of(site, trust, played.certificates)
    site.store.close()
    return made


def test_on_plain_certificates(played: Played) -> None:
    for number in played.certificates:
        assert pdfsig(played.site.certificates / f"{number}.pdf") == Said(1, hold=True, whole=True)


def test_on_an_amended_one_and_the_one_it_replaces(line: Line) -> None:  # noqa: F811
    first = corrected(line)
    drafted = good(line("certificate", "amend", first, "--reason", WHY, "--json", by=(ANALYST,)))
    number = str(drafted["number"])
    released(line, number)
    trust = read_trust_file((line.site / "trust.json").read_bytes())
    assert isinstance(trust, Trust)
    for each in (first, number):
        path = line.site / "certificates" / f"{each}.pdf"
        assert judge(path.read_bytes(), trust).word == "GENUINE"
        assert pdfsig(path) == Said(1, hold=True, whole=True)
        changed = bytearray(path.read_bytes())
        changed[len(changed) // 2] ^= 1
        path.with_suffix(".changed.pdf").write_bytes(changed)
        assert judge(bytes(changed), trust).word == "ALTERED"
        assert not pdfsig(path.with_suffix(".changed.pdf")).good


def test_on_forged_ones(forger: Forger, tmp_path: Path) -> None:
    good_to_pdfsig = []
    for number, attack in enumerate(OUTSIDE):
        path = tmp_path / f"{number}.pdf"
        path.write_bytes(attack.make(forger))
        assert verify_certificate(path.read_bytes(), forger.trust).word != "GENUINE"
        if pdfsig(path).good:
            good_to_pdfsig.append(attack.name)
    assert [name for name in good_to_pdfsig if not name.startswith(LOOKS_GOOD_TO_PDFSIG)] == []
    assert len(good_to_pdfsig) < len(OUTSIDE) // 2
    print(good_to_pdfsig)  # noqa: T201  shown with -rP
