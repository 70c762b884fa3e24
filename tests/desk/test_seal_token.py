"""A seal key in a PKCS#11 token: taken by two people, never copied, and everything that keeps it from sealing said.

SoftHSM stands in for a token. Seals are checked by our verifier and by poppler's pdfsig, handovers by the tool that
shares no code with the program.
"""

from __future__ import annotations

import builtins
import shutil
import subprocess
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from cryptography.hazmat.primitives.serialization import Encoding
from tests.certifying import LEAF, NOW, certified, chain, curve_key, lasting_certificates, leaf, rsa_key
from tests.desk.test_rotation import (
    ADMINISTRATOR,
    APPROVER,
    by_tool,
    codes,
    in_force,
    refused,
    rotate,
    trust,
    waiting_to_release,
)
from tests.tokens import KEY, LABEL, MODULE, PIN, SECRET, VARIABLE, TokenFolder, needs_softhsm

from benchseal.desk import keys, tokens
from benchseal.desk.acts_keys import RevokeKey, RotateKey, UseToken
from benchseal.desk.perform import perform
from benchseal.desk.rotation import finish
from benchseal.desk.sealing import finish as seal_it
from benchseal.export.signature import signed
from benchseal.identity.keys import key_id_of
from benchseal.identity.seal_signer import HeldSealKey
from benchseal.problems import Stopped
from benchseal.upkeep.doctor import examine
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.trust import follows

if TYPE_CHECKING:
    from pathlib import Path

    from cryptography import x509
    from tests.conftest import Bench, Stage

pytestmark = [needs_softhsm, pytest.mark.usefixtures("token")]
WHY = "the key is in a token from now on"


@pytest.fixture
def token(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> TokenFolder:
    """A token with the key, and no certificate."""
    made = TokenFolder.make(tmp_path / "softhsm", monkeypatch)
    made.add_token()
    made.add_key(rsa_key("leaf"))
    return made


def pem(*certificates: x509.Certificate) -> bytes:
    return b"".join(one.public_bytes(Encoding.PEM) for one in certificates)


def act(certificates: bytes | None = None, **changed: str) -> UseToken:
    whole = pem(leaf(), *chain()) if certificates is None else certificates
    name = "seal.pem" if whole else ""
    return replace(UseToken(MODULE, LABEL, KEY, SECRET, whole, name, WHY), **changed)  # type: ignore[arg-type]


def taken(bench: Bench, done: UseToken) -> None:
    bench.do(done, "emil", "cleo")
    finish(bench.site)


def on_stage(stage: Stage) -> None:
    by = (stage.key(ADMINISTRATOR), stage.key(APPROVER))
    perform(stage.site, act(lasting_certificates(stage.site.clock())), *by)
    finish(stage.site)


def doctors_codes(bench: Bench) -> list[str]:
    return [one.what for one in examine(bench.site) if one.code == "doctor.key"]


@pytest.mark.clause("P11 11.10(e)", "P11 11.300(c)")
def test_a_key_in_a_token_takes_over_and_stays_there(bench: Bench) -> None:
    known = trust(bench.site)
    told = bench.do(act(), "emil", "cleo")
    finish(bench.site)
    name = key_id_of(rsa_key("leaf"))
    assert in_force(bench.site)[0] == name
    assert "Weir Lane Trust Root" in " ".join(told.said)
    assert f"key '{KEY}' in token '{LABEL}'" in told.said[-1]
    assert follows(known, trust(bench.site)) is None
    assert codes(bench.site) == set()
    assert by_tool(bench.site) == []
    assert doctors_codes(bench) == []
    kept = {path.name: path.read_bytes() for path in bench.site.private.iterdir()}
    assert f"seal-{name}.token.json" in kept
    assert [one for one in kept if one.startswith("seal") and one.endswith(".key.json")] == []
    everything = bench.site.store.path.read_bytes() + b"".join(kept.values()) + repr(act()).encode()
    assert PIN.encode() not in everything
    with bench.site.store.reading() as view:
        entries = b"".join(row[1] for row in view.entries())
    assert SECRET.encode() not in entries
    assert MODULE.encode() not in entries


def test_certificates_can_lie_in_the_token(bench: Bench, token: TokenFolder) -> None:
    token.add_certificates(leaf(), *chain())
    taken(bench, act(b""))
    assert trust(bench.site).seals[-1].certificate == leaf().public_bytes(Encoding.DER)
    assert codes(bench.site) == set()


def test_a_certificate_signed_with_its_own_key_will_do(bench: Bench) -> None:
    own = certified(replace(LEAF, issuer=""), rsa_key("leaf"), rsa_key("leaf"))
    taken(bench, act(own.public_bytes(Encoding.DER)))
    assert codes(bench.site) == set()


def test_a_key_made_here_follows_and_the_note_is_destroyed(bench: Bench) -> None:
    taken(bench, act())
    name = in_force(bench.site)[0]
    told = bench.do(RotateKey("seal", WHY), "emil", "cleo")
    finish(bench.site)
    assert f"{name} is still in its token" in " ".join(told.said)
    assert list(bench.site.private.glob("*.token.json")) == []
    assert codes(bench.site) == set()
    assert doctors_codes(bench) == []
    assert refused(bench, act(), "emil", "cleo") == "keys.file-known"
    rotate(bench, "tree")
    assert codes(bench.site) == set()


def test_another_key_in_the_token_follows(bench: Bench, token: TokenFolder) -> None:
    taken(bench, act())
    token.add_key(rsa_key("next"), "next", "a2")
    taken(bench, act(pem(leaf(key=rsa_key("next")), *chain()), key="next"))
    assert in_force(bench.site)[0] == key_id_of(rsa_key("next"))
    assert [path.name for path in bench.site.private.glob("*.token.json")] == [
        f"seal-{key_id_of(rsa_key('next'))}.token.json"
    ]
    assert codes(bench.site) == set()


WRONG = [
    pytest.param({"module": "libsofthsm2.so"}, "keys.token-module", id="library by its name alone"),
    pytest.param({"module": "/nowhere/token.so"}, "keys.token-module", id="no library there"),
    pytest.param({"module": __file__}, "keys.token-module", id="another file"),
    pytest.param({"token": "Another Lane"}, "keys.token-away", id="no token of this label"),
    pytest.param({"key": "seal-2"}, "keys.token-key", id="no key of this label"),
    pytest.param({"key": ""}, "keys.token-label", id="no label"),
    pytest.param({"token": "x" * 33}, "keys.token-label", id="label too long for a token"),
    pytest.param({"pin": "other-pin"}, "settings.secret-missing", id="no secret of this name"),
    pytest.param({"pin": PIN}, "keys.token-pin-name", id="the PIN itself"),
    pytest.param({"reason": " "}, "act.reason", id="no reason"),
]


@pytest.mark.refuses("P11 11.300(c)")
@pytest.mark.parametrize(("changed", "code"), WRONG)
def test_what_is_not_there_is_said_and_the_old_key_stays(bench: Bench, changed: dict[str, str], code: str) -> None:
    before, size = in_force(bench.site), bench.entries()
    with pytest.raises(Stopped) as found:
        bench.do(act(None, **changed), "emil", "cleo")
    assert found.value.notices[0].code == code
    assert PIN not in repr(found.value.notices)
    assert (in_force(bench.site), bench.entries()) == (before, size)
    assert list(bench.site.private.glob("*.token.json")) == []


def test_a_library_that_is_no_pkcs11_library(bench: Bench) -> None:
    import _ctypes  # noqa: PLC0415  a shared library that every Python brings

    assert refused(bench, act(module=_ctypes.__file__), "emil", "cleo") == "keys.token-module"


@pytest.mark.refuses("P11 11.300(c)")
def test_a_wrong_pin_is_tried_once_and_never_shown(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, "999999")
    with pytest.raises(Stopped) as found:
        bench.do(act(), "emil", "cleo")
    (notice,) = found.value.notices
    assert (notice.code, "999999" in repr(notice)) == ("keys.token-pin", False)
    monkeypatch.setenv(VARIABLE, "1")
    assert refused(bench, act(), "emil", "cleo") == "keys.token-pin"


BAD = [
    pytest.param(lambda: b"no certificate", "keys.file-unreadable", id="rubbish"),
    pytest.param(lambda: b"-----BEGIN CERTIFICATE-----\nxx", "keys.file-unreadable", id="broken PEM"),
    pytest.param(lambda: pem(leaf(key=rsa_key("next")), *chain()), "keys.token-certificate", id="of another key"),
    pytest.param(lambda: pem(leaf(), leaf(replace(LEAF, serial=9)), *chain()), "keys.token-certificate", id="two"),
    pytest.param(lambda: b"", "keys.token-certificate", id="none anywhere"),
    pytest.param(lambda: pem(leaf()), "keys.file-chain", id="none of the authority"),
    pytest.param(lambda: pem(leaf(replace(LEAF, commitment=False)), *chain()), "keys.file-usage", id="not for seals"),
    pytest.param(
        lambda: pem(leaf(replace(LEAF, last=NOW - timedelta(days=1))), *chain()), "keys.file-expired", id="run out"
    ),
    pytest.param(lambda: pem(leaf(replace(LEAF, unknown=True)), *chain()), "keys.file-usage", id="unknown condition"),
]


@pytest.mark.refuses("P11 11.300(c)")
@pytest.mark.parametrize(("made", "code"), BAD)
def test_certificates_that_will_not_do(bench: Bench, made: object, code: str) -> None:
    before, size = in_force(bench.site), bench.entries()
    assert refused(bench, act(made()), "emil", "cleo") == code  # type: ignore[operator]
    assert (in_force(bench.site), bench.entries()) == (before, size)
    assert list(bench.site.private.glob("*.token.json")) == []


def test_keys_that_will_not_do(bench: Bench, token: TokenFolder) -> None:
    token.add_key(curve_key(), "curve", "b1")
    assert refused(bench, act(key="curve"), "emil", "cleo") == "keys.token-key"
    token.add_key(rsa_key("short", 2048), "short", "b2")
    short = pem(leaf(key=rsa_key("short", 2048)), *chain())
    assert refused(bench, act(short, key="short"), "emil", "cleo") == "keys.file-weak"
    token.add_key(rsa_key("next"), KEY, "b3")
    with pytest.raises(Stopped) as two:
        bench.do(act(), "emil", "cleo")
    assert (two.value.notices[0].code, "2 private keys" in two.value.notices[0].what) == ("keys.token-key", True)


def test_two_tokens_of_one_label(bench: Bench, token: TokenFolder) -> None:
    token.add_token()
    assert refused(bench, act(), "emil", "cleo") == "keys.token-two"


@pytest.mark.refuses("P11 11.300(c)")
@pytest.mark.parametrize(
    ("names", "code"),
    [(("emil",), "act.signers"), (("emil", "ben"), "act.role"), (("ana", "cleo"), "act.role")],
)
def test_two_people_with_these_roles_are_needed(bench: Bench, names: tuple[str, ...], code: str) -> None:
    assert refused(bench, act(), *names) == code


@pytest.mark.parametrize("known", [("SHA256_RSA_PKCS", "RSA_PKCS"), ("RSA_PKCS",), ()])
def test_either_mechanism_gives_the_same_signature(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, known: tuple[str, ...]
) -> None:
    import pkcs11  # noqa: PLC0415  the library of the extra

    taken(bench, act())
    signer = keys.open_seal_key(bench.site.private, in_force(bench.site)[0])
    expected = signer.sign(b"one page")
    real = tokens._signed  # noqa: SLF001

    class Slot:
        def get_mechanisms(self) -> set[object]:
            return {pkcs11.Mechanism[name] for name in known}

    class Session:
        class token:  # noqa: N801
            slot = Slot()

    class Key:
        session = Session()

        def __init__(self, key: object) -> None:
            self.sign = key.sign  # type: ignore[attr-defined]

        def __getitem__(self, name: object) -> bool:
            return False

    monkeypatch.setattr(tokens, "_signed", lambda place, key, data: real(place, Key(key), data))  # type: ignore[arg-type]
    if known:
        assert signer.sign(b"one page") == expected
        held = HeldSealKey(rsa_key("leaf"))
        assert expected == held.sign(b"one page")
        assert signed(b"{}", signer, leaf(), chain()) == signed(b"{}", held, leaf(), chain())
    else:
        with pytest.raises(Stopped) as found:
            signer.sign(b"one page")
        assert found.value.notices[0].code == "keys.token-mechanism"


def test_a_key_that_wants_the_pin_each_time(bench: Bench, token: TokenFolder) -> None:
    token.add_key_that_asks_each_time(rsa_key("next"), "careful")
    taken(bench, act(pem(leaf(key=rsa_key("next")), *chain()), key="careful"))
    assert codes(bench.site) == set()
    assert doctors_codes(bench) == []


def test_without_the_package_the_extra_is_named(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def without(name: str, *rest: object) -> object:
        if name.partition(".")[0] == "pkcs11":
            raise ImportError(name)
        return real(name, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(Stopped) as found:
        bench.do(act(), "emil", "cleo")
    assert found.value.notices[0].code == "keys.token-package"
    assert "benchseal[pkcs11]" in found.value.notices[0].remedy


@pytest.mark.clause("P11 11.30")
def test_a_certificate_sealed_by_the_token_is_genuine(stage: Stage, tmp_path: Path) -> None:
    on_stage(stage)
    number = waiting_to_release(stage)
    seal_it(stage.site, number)
    pdf = stage.pdf(number)
    assert verify_certificate(pdf, trust(stage.site)).word == "GENUINE"
    assert codes(stage.site) == set()
    if shutil.which("pdfsig") is None:
        pytest.skip("pdfsig (poppler-utils) is not installed: no second opinion on the seal of the token")
    (tmp_path / "sealed.pdf").write_bytes(pdf)
    said = subprocess.run(["pdfsig", "-nocert", str(tmp_path / "sealed.pdf")], capture_output=True, check=False)  # noqa: S603, S607
    assert b"Signature is Valid" in said.stdout
    assert b"Total document signed" in said.stdout


@pytest.mark.refuses("P11 11.10(a)")
def test_nothing_is_half_issued_while_the_token_is_away(stage: Stage, token: TokenFolder) -> None:
    on_stage(stage)
    number = waiting_to_release(stage)
    token.take_away()
    for _ in range(2):
        with pytest.raises(Stopped) as found:
            seal_it(stage.site, number)
        assert found.value.notices[0].code == "keys.token-away"
        assert not (stage.site.certificates / f"{number}.pdf").exists()
    assert codes(stage.site) == set()
    away = [one for one in examine(stage.site) if one.code == "doctor.key"]
    assert ["no token of this label is there." in one.what for one in away] == [True]
    token.put_back()
    seal_it(stage.site, number)
    assert verify_certificate(stage.pdf(number), trust(stage.site)).word == "GENUINE"


def test_no_release_is_signed_and_nothing_handed_over_while_the_token_is_away(bench: Bench, token: TokenFolder) -> None:
    taken(bench, act())
    token.take_away()
    before, size = in_force(bench.site), bench.entries()
    assert refused(bench, RotateKey("seal", WHY), "emil", "cleo") == "keys.token-away"
    with pytest.raises(Stopped) as found, bench.site.store.reading() as view:
        from benchseal.desk.seal_in_force import require_seal_valid  # noqa: PLC0415

        require_seal_valid(bench.site, view, "C-2026-00001", NOW)
    assert found.value.notices[0].code == "keys.token-away"
    assert (in_force(bench.site), bench.entries()) == (before, size)
    assert len(list(bench.site.private.glob("*.key.json"))) == 1, "of the tree key"


@pytest.mark.refuses("P11 11.300(c)")
def test_another_key_under_the_same_label_seals_nothing(stage: Stage, token: TokenFolder) -> None:
    on_stage(stage)
    number = waiting_to_release(stage)
    token.take_away()
    token.add_token()
    token.add_key(rsa_key("next"))
    with pytest.raises(Stopped) as found:
        seal_it(stage.site, number)
    assert found.value.notices[0].code == "keys.token-other-key"
    assert not (stage.site.certificates / f"{number}.pdf").exists()
    assert [one.code for one in examine(stage.site) if one.code == "doctor.key"] == ["doctor.key"]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"key-token/1", b"key-token/9"),
        (b'"module":"/', b'"module":"'),
        (b'"public":"30', b'"public":"31'),
        (b"}", b""),
    ],
    ids=["another schema", "module without its path", "another public key", "cut off"],
)
def test_a_note_that_was_changed_is_refused(bench: Bench, old: bytes, new: bytes) -> None:
    taken(bench, act())
    (note,) = bench.site.private.glob("*.token.json")
    data = note.read_bytes()
    assert old in data
    note.write_bytes(data.replace(old, new))
    with pytest.raises(Stopped) as found:
        keys.open_seal_key(bench.site.private, in_force(bench.site)[0])
    assert found.value.notices[0].code == "keys.token-note"


def test_a_key_in_a_token_can_be_revoked_once_another_follows(stage: Stage) -> None:
    on_stage(stage)
    site, by = stage.site, (stage.key(ADMINISTRATOR), stage.key(APPROVER))
    perform(site, RotateKey("seal", WHY), *by)
    finish(site)
    perform(site, RevokeKey(key_id_of(rsa_key("leaf")), "2026-02-01", WHY), *by)
    finish(site)
    assert trust(site).seals[1].revoked is not None
    assert codes(site) == set()
