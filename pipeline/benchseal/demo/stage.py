"""The demo's site with its people, who act through the same door as anybody."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk import sealing
from benchseal.desk.acts_certificates import ApproveCertificate, ReleaseCertificate
from benchseal.desk.admission import Password, Session, sign_in
from benchseal.desk.perform import perform

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.desk.acting import Receipt
    from benchseal.desk.site import Site

REVIEWER, APPROVER, SECOND_APPROVER = "p-edda.farrow", "p-ruth.calloway", "p-jonas.wick"


class Stage:
    """The site, its people's passwords, and whom to tell."""

    def __init__(self, site: Site, passwords: dict[str, str], tell: Callable[[str], None]) -> None:
        self.site, self.tell = site, tell
        self._passwords = passwords
        self._sessions: dict[str, Session] = {}

    def do(self, act: object, person: str) -> Receipt:
        """An act that is not signed, under the person's session."""
        if person not in self._sessions:
            self._sessions[person] = Session(sign_in(self.site, Password(person, self._passwords[person])))
        return perform(self.site, act, self._sessions[person])

    def sign(self, act: object, person: str) -> Receipt:
        """A signed act: user id and password again, each time."""
        return perform(self.site, act, Password(person, self._passwords[person]))


def certify(stage: Stage, drafted: Receipt) -> str:
    """A drafted certificate approved, released by another approver, sealed; its number."""
    number = str(drafted.data["number"])
    stage.sign(ApproveCertificate(number), APPROVER)
    stage.sign(ReleaseCertificate(number), SECOND_APPROVER)
    sealing.finish(stage.site, number)
    return number
