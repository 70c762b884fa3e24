"""Whether the program does on this machine what it has to: the second half of a qualification.

Published examples are calculated, and a laboratory of its own is taken the whole way in a folder for the time being:
from instrument files to sealed certificates, with what has to be refused and what has to be found. Nothing of it
touches the site, and nothing that depends on the moment (numbers, times, digests) is in what a test says.
"""

from __future__ import annotations

import json
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Protocol

from benchseal import shipped
from benchseal.compute.worked_examples import Example, compare, examples_of
from benchseal.desk.acts_people import UnlockPerson
from benchseal.desk.acts_runs import AcceptRuns
from benchseal.desk.admission import Password, admit
from benchseal.desk.checking import verify_site
from benchseal.desk.checkpoints import make as make_checkpoint
from benchseal.desk.founding import trust_of
from benchseal.desk.perform import perform
from benchseal.desk.site import STORE_FILE, Site, open_site
from benchseal.problems import Stopped
from benchseal.records.qualification import Part, QualificationTest
from benchseal.upkeep.backup import make_backup
from benchseal.upkeep.restore import unpacked
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

EXAMPLES: Final = "qualification/worked-examples.json"


class Tried(Protocol):
    """A laboratory taken the whole way elsewhere. whole: whether it verifies and its certificates are genuine."""

    @property
    def site(self) -> Site:
        """The laboratory's site, open or closed."""
        ...

    @property
    def runs(self) -> tuple[str, ...]:
        """Its runs."""
        ...

    @property
    def refused(self) -> tuple[str, ...]:
        """Names of the files it refused."""
        ...

    @property
    def certificates(self) -> tuple[str, ...]:
        """Numbers of its certificates."""
        ...

    @property
    def held(self) -> tuple[str, ...]:
        """Its held lots."""
        ...

    @property
    def whole(self) -> bool:
        """Whether everything of it holds."""
        ...


def published_tests() -> Iterator[QualificationTest]:
    """The shipped examples of books, standards and reference data, each calculated here."""
    yield from example_tests("operation", examples_of(json.loads(shipped.starter(EXAMPLES))))


def example_tests(part: Part, examples: Sequence[Example]) -> Iterator[QualificationTest]:
    """One test for each example: every figure as its source has it."""
    for example in examples:
        compared = compare(example)
        wrong = [f"{one.at} is {one.found}, due is {one.expected}" for one in compared if not one.holds]
        read = "" if example.confirmed == "yes" else f" ({example.confirmed})"
        yield QualificationTest(
            part,
            example.id,
            f"{example.source}{read}",
            "; ".join(f"{one.at} {one.expected}" for one in compared),
            "; ".join(f"{one.at} {one.found}" for one in compared),
            "failed" if wrong else "passed",
            "; ".join(wrong),
        )


def operation_tests(try_out: Callable[[Path], Tried]) -> Iterator[QualificationTest]:
    """What the whole way gives, what it refuses and what it finds. try_out: plays it in a new folder."""
    with tempfile.TemporaryDirectory(prefix="benchseal-qualify-") as name:
        folder = Path(name)
        tried = try_out(folder / "site")
        tried.site.store.close()
        site = _opened(tried, folder / "site")
        try:
            yield from _whole_way(tried)
            yield from _refusals(site, tried)
            yield from _certificate(site, tried)
            yield from _kept(site, folder)
        finally:
            site.store.close()
        yield from _tampered(tried, folder)


def _opened(tried: Tried, folder: Path) -> Site:
    hashes = tried.site.hashes
    return open_site(folder, clock=tried.site.clock, hashes=lambda: hashes)


def _whole_way(tried: Tried) -> Iterator[QualificationTest]:
    yield _test(
        "whole-way", "files to sealed certificates, signed by three people (11.10(f), 11.50, 11.70)",
        "verified, every certificate genuine", "verified, every certificate genuine" if tried.whole else "not so",
    )  # fmt: skip
    yield _test(
        "bad-file", "a damaged instrument file is refused whole (11.10(a))", "refused", _word(tried.refused, "refused")
    )  # fmt: skip
    yield _test(
        "exceedance", "a result outside its limit holds its lot (21 CFR 211.192)", "held", _word(tried.held, "held")
    )  # fmt: skip


def _refusals(site: Site, tried: Tried) -> Iterator[QualificationTest]:
    people = _people(site)
    analyst, administrator = people["analyst"], people["administrator"]
    yield _refused(
        "wrong-password", "a wrong password lets nobody in (11.10(d), 11.300)", "sign-in.refused",
        lambda: admit(site, Password(analyst.person, "not the word of anybody")),
    )  # fmt: skip
    yield _refused(
        "analyst-reviews", "an analyst reviews nothing (11.10(g))", "act.role",
        lambda: perform(site, AcceptRuns(tried.runs[:1]), analyst),
    )  # fmt: skip
    yield _refused(
        "administrator-reviews", "an administrator touches no result (11.10(g))", "act.role",
        lambda: perform(site, AcceptRuns(tried.runs[:1]), administrator),
    )  # fmt: skip
    yield _refused(
        "no-reason", "an act that needs a reason is refused without one (EU GMP Annex 11, 9)", "act.reason",
        lambda: perform(site, UnlockPerson(analyst.person, " "), administrator),
    )  # fmt: skip


def _certificate(site: Site, tried: Tried) -> Iterator[QualificationTest]:
    """A sealed page as its customer checks it, whole and with one byte altered."""
    trust = read_trust(trust_of(site))
    known = trust if isinstance(trust, Trust) else None
    data = (site.certificates / f"{tried.certificates[0]}.pdf").read_bytes()
    altered = bytearray(data)
    altered[len(data) // 2] ^= 1
    said = ("a sealed certificate is told from an altered one (11.30, 11.70)", "GENUINE, then ALTERED")
    words = [verify_certificate(one, known).word for one in (data, bytes(altered))]
    yield _test("certificate", *said, ", then ".join(words))
    yield _test("seal-unknown", "a seal nobody trusts proves nothing", "UNKNOWN", verify_certificate(data, None).word)


def _kept(site: Site, folder: Path) -> Iterator[QualificationTest]:
    """A backup that holds, one that was altered, and a signed head against an end cut off."""
    backup = folder / "backup.zip"
    make_backup(site, backup)
    with unpacked(backup) as (again, _):
        found = verify_site(again).findings
    yield _test(
        "backup", "a backup restores elsewhere and verifies (EU GMP Annex 11, 7.2)", "nothing found",
        "; ".join(sorted({one.code for one in found})) or "nothing found",
    )  # fmt: skip
    data = bytearray(backup.read_bytes())
    data[len(data) // 2] ^= 1
    backup.write_bytes(data)
    try:
        with unpacked(backup):
            said = "taken"
    except Stopped:
        said = "refused"
    yield _test("backup-altered", "an altered backup is refused", "refused", said)


def _tampered(tried: Tried, folder: Path) -> Iterator[QualificationTest]:
    """Somebody with the store's file: a letter of an entry, the words of a signature, a value of a result, the end."""
    changes = {
        "ledger-altered": ('"kind":"run.reviewed"', '"kind":"run.reviewer"'),
        "signature-altered": ('"meaning":"reviewed"', '"meaning":"approved"'),
    }
    for name, (old, new) in changes.items():
        site = _copied(tried, folder, name)
        path = site.folder / STORE_FILE
        path.write_bytes(path.read_bytes().replace(old.encode(), new.encode(), 1))
        found = verify_site(site).findings
        site.store.close()
        asks = f"{old} changed to {new} in the store's file is found (11.10(a), 11.10(e))"
        yield _test(name, asks, "found", "found" if found else "not found")
    site = _copied(tried, folder, "end-cut-off")
    earlier = _copied(tried, folder, "earlier")
    people = _people(site)
    perform(site, UnlockPerson(people["analyst"].person, "nothing is amiss"), people["administrator"])
    head = make_checkpoint(site)
    found = verify_site(earlier, [head]).findings
    for one in (site, earlier):
        one.store.close()
    yield _test(
        "end-cut-off", "an end cut off shows against a head kept elsewhere (11.10(e))", "integrity.tail-missing",
        "; ".join(sorted({one.code for one in found})),
    )  # fmt: skip


def _copied(tried: Tried, folder: Path, name: str) -> Site:
    shutil.copytree(folder / "site", folder / name)
    return _opened(tried, folder / name)


def _people(site: Site) -> dict[str, Password]:
    """Somebody of each role with their throw-away password."""
    lines = (site.private / "demo-people.txt").read_text(encoding="utf-8").splitlines()
    known = dict(line.split("\t")[:2] for line in lines)
    with site.store.reading() as view:
        return {row["role"]: Password(row["person"], known[row["person"]]) for row in view.rows("role", active=1)}


def _refused(name: str, asks: str, code: str, work: Callable[[], Any]) -> QualificationTest:
    try:
        work()
    except Stopped as stop:
        return _test(name, asks, code, stop.notices[0].code)
    return _test(name, asks, code, "done")


def _word(found: Sequence[str], word: str) -> str:
    return word if found else f"nothing {word}"


def _test(name: str, asks: str, expected: str, found: str) -> QualificationTest:
    holds = expected == found
    return QualificationTest(
        "operation", name, asks, expected, found, "passed" if holds else "failed", "" if holds else f"found: {found}."
    )
