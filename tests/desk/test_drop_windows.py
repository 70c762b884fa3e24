"""The Windows way of giving a file its final name, with a scanner that holds it; simulated, not run on Windows."""

from __future__ import annotations

import errno
from pathlib import Path
from typing import Any

import pytest

from benchseal.desk.drop import FileOperations, drop
from benchseal.problems import Stopped

FILES = {"x.csv": b"ID\r\n", "x.done": b""}
ORDER = tuple(FILES)


def on_windows(times_held: int, code: int) -> type[FileOperations]:
    """The Windows way of ``publish``, with a scanner that holds the file for the first calls."""
    left = [times_held]

    class Held(Path().__class__):  # type: ignore[misc]  # the platform's own path class
        def rename(self, target: Any) -> Any:  # noqa: ANN401  as pathlib has it
            if left[0]:
                left[0] -= 1
                fault = PermissionError(errno.EACCES, "held")
                fault.winerror = code  # type: ignore[attr-defined]
                raise fault
            return super().rename(target)

    class Windows(FileOperations):
        def publish(self, part: Path, final: Path) -> None:
            from benchseal.desk import drop as module  # noqa: PLC0415

            module._rename_on_windows(Held(part), final)  # noqa: SLF001  no Windows here to call it

    return Windows


@pytest.mark.parametrize(
    ("times", "code", "placed"), [(0, 0, True), (5, 32, True), (6, 5, True), (7, 5, False), (1, 1, False)]
)
def test_windows_waits_for_a_scanner_but_not_for_ever_and_for_nothing_else(
    tmp_path: Path, times: int, code: int, placed: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    waited: list[float] = []
    monkeypatch.setattr("time.sleep", waited.append)
    operations = on_windows(times, code)()
    if placed:
        assert drop(tmp_path, FILES, ORDER, operations).placed == ORDER
        assert len(waited) == times
    else:
        with pytest.raises(Stopped, match=r"delivery\.not-permitted"):
            drop(tmp_path, FILES, ORDER, operations)
        assert list(tmp_path.iterdir()) == []
    assert sum(waited) <= 2.51
