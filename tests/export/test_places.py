"""Words of ``send_to``: what each kind needs, what it has no use for, and how a place is called."""

from __future__ import annotations

import dataclasses
import os

import pytest
from tests.export.test_file_kinds import columns, profile

from benchseal.export.places import place_faults, place_words
from benchseal.export.profiles import check_profile
from benchseal.records.profile import FileForm, SendTo

KEY = "SHA256:" + "a" * 43
SFTP = SendTo("sftp", folder="in", host="files.example", user="lab", host_key=KEY, secret="city-water")
HTTP = SendTo("http", url="https://files.example/in")
S3 = SendTo("s3", bucket="results", access_key="public half", secret="city-water")
FOLDER = SendTo("folder", folder="/mnt/share", marker="inbox.txt")


def codes(place: SendTo) -> list[str]:
    return [fault.code for fault in place_faults(place)]


@pytest.mark.parametrize("place", [SFTP, HTTP, S3, FOLDER], ids=lambda place: str(place.kind))
def test_each_kind_with_its_words_is_sound(place: SendTo) -> None:
    assert codes(place) == []
    wanted = profile(FileForm(kind="json_lines"), *columns(), send_to=place)
    assert check_profile(wanted) == ()


@pytest.mark.parametrize(
    ("place", "word"),
    [(SFTP, "host"), (SFTP, "user"), (SFTP, "folder"), (SFTP, "host_key"), (SFTP, "secret"), (HTTP, "url"),
     (S3, "bucket"), (S3, "access_key"), (S3, "secret"), (FOLDER, "folder")],
)  # fmt: skip
def test_a_word_that_is_needed_is_asked_for(place: SendTo, word: str) -> None:
    lacking = dataclasses.replace(place, **{word: ""})  # type: ignore[arg-type]  # a word of text
    assert codes(lacking) == ["profile.place-word-missing"]
    wanted = profile(FileForm(kind="json_lines"), *columns(), send_to=lacking)
    (problem,) = check_profile(wanted)
    assert (problem.code, problem.where) == ("profile.place-word-missing", "profile partner, send_to")


@pytest.mark.parametrize(
    ("place", "more"),
    [(FOLDER, {"secret": "x"}), (HTTP, {"host": "x"}), (S3, {"url": "https://x"}), (SFTP, {"bucket": "xyz"}),
     (HTTP, {"port": 22}), (S3, {"marker": "x"}), (FOLDER, {"read_back": False}), (S3, {"read_back": False})],
)  # fmt: skip
def test_a_word_of_another_kind_is_refused(place: SendTo, more: dict[str, object]) -> None:
    assert codes(dataclasses.replace(place, **more)) == ["profile.place-word-unfit"]  # type: ignore[arg-type]


def test_a_server_may_be_trusted_by_its_word() -> None:
    assert codes(dataclasses.replace(HTTP, read_back=False)) == codes(dataclasses.replace(SFTP, read_back=False)) == []


@pytest.mark.parametrize("address", ["http://files.example/in", "http://10.0.0.7/in"])
def test_nothing_goes_in_the_open_but_on_this_machine(address: str) -> None:
    assert codes(dataclasses.replace(HTTP, url=address)) == ["profile.place-in-the-open"]
    assert codes(dataclasses.replace(S3, endpoint=address)) == ["profile.place-in-the-open"]
    assert codes(dataclasses.replace(HTTP, url="http://127.0.0.1:8080/in")) == []


@pytest.mark.parametrize("host", ["127.0.0.1:99999", "127.0.0.1:0", "localhost:x", "[::1", ":443"])
def test_an_address_nobody_can_call_is_refused(host: str) -> None:
    assert codes(dataclasses.replace(HTTP, url=f"https://{host}/in")) == ["profile.place-address"]
    assert codes(dataclasses.replace(S3, endpoint=f"https://{host}")) == ["profile.place-address"]
    assert codes(dataclasses.replace(HTTP, url="https://files.example:65535/in")) == []


def test_a_place_is_called_without_its_secret() -> None:
    assert place_words(SFTP) == "sftp://lab@files.example:22/in"
    assert place_words(dataclasses.replace(SFTP, port=2222)) == "sftp://lab@files.example:2222/in"
    assert place_words(HTTP) == "https://files.example/in"
    assert place_words(dataclasses.replace(S3, endpoint="https://store.example", folder="a/")) == (
        "s3://results/a at https://store.example"
    )
    assert place_words(FOLDER) == "/mnt/share"


@pytest.mark.parametrize(
    ("folder", "is_whole"),
    [
        ("/srv/lab/out", os.name == "posix"), ("C:\\lab\\out", os.name == "nt"), ("out", False),
        ("\\\\server\\share\\out", os.name == "nt"), ("C:\\lab\\..\\out", False),
        ("../../tmp/x", False), ("/srv/lab/../private", False), ("C:out", False), ("./out", False),
    ],
)  # fmt: skip
def test_a_folder_is_named_from_its_root(folder: str, *, is_whole: bool) -> None:
    found = [fault.code for fault in place_faults(SendTo("folder", folder=folder))]
    assert found == ([] if is_whole else ["profile.place-folder"])


@pytest.mark.parametrize("folder", ["../up", "a/../b", "a//b", "..", ".", "a/./b", "/../up/"])
def test_a_folder_of_a_bucket_goes_straight(folder: str) -> None:
    assert codes(dataclasses.replace(S3, folder=folder)) == ["profile.place-folder"]


@pytest.mark.parametrize("folder", ["", "/", "in", "in/results/", "..in/a..b", "in/.hidden"])
def test_a_straight_folder_of_a_bucket_is_taken(folder: str) -> None:
    assert codes(dataclasses.replace(S3, folder=folder)) == []


@pytest.mark.parametrize(("folder", "found"), [("../up", ["profile.place-folder"]), (".", []), ("/srv/in", [])])
def test_a_folder_of_a_server_does_not_go_up(folder: str, found: list[str]) -> None:
    assert codes(dataclasses.replace(SFTP, folder=folder)) == found


@pytest.mark.parametrize(
    "path", ["a/../b", "..", "%2e%2e/b", "a/.%2E", "a//b", "./b", "/b", "a//", "a%2fb", "a/..%5cb", "a/%2E/b"]
)
def test_an_address_goes_straight(path: str) -> None:
    """RFC 3986, 5.2.4: what is asked for would lie elsewhere than the address says."""
    assert codes(dataclasses.replace(HTTP, url=f"https://files.example/{path}")) == ["profile.place-address"]
    assert codes(dataclasses.replace(S3, endpoint=f"https://files.example/{path}")) == ["profile.place-address"]


@pytest.mark.parametrize("path", ["", "/", "/in/", "/in/of%20the%20works", "/a..b/...", "/%C3%BC"])
def test_a_straight_address_is_taken(path: str) -> None:
    assert codes(dataclasses.replace(HTTP, url=f"https://files.example{path}")) == []
