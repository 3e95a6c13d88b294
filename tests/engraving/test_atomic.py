"""Files are written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from engraving.atomic import write_atomically
from engraving.errors import EngravingError


def names_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_new_file_holds_the_data(tmp_path: Path) -> None:
    write_atomically(tmp_path / "new.bin", b"whole")
    assert (tmp_path / "new.bin").read_bytes() == b"whole"
    assert names_in(tmp_path) == ["new.bin"]


def test_an_old_file_is_replaced_and_keeps_its_rights(tmp_path: Path) -> None:
    path = tmp_path / "old.bin"
    path.write_bytes(b"a longer text than the new one")
    path.chmod(0o640)
    write_atomically(path, b"whole")
    assert path.read_bytes() == b"whole"
    assert path.stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize("failing", ["fsync", "replace"])
def test_a_failure_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: str
) -> None:
    path = tmp_path / "old.bin"
    path.write_bytes(b"old")

    def fail(*arguments: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(*((os, "fsync") if failing == "fsync" else (Path, "replace")), fail)
    with pytest.raises(EngravingError, match=r"^old\.bin cannot be written in .*: No space left on device$"):
        write_atomically(path, b"new")
    assert path.read_bytes() == b"old"
    assert names_in(tmp_path) == ["old.bin"]


def test_the_data_are_on_the_disk_before_they_take_the_old_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps: list[str] = []
    sync, replace = os.fsync, Path.replace

    def record_sync(handle: int) -> None:
        steps.append("sync")
        sync(handle)

    def record_replace(self: Path, target: Path) -> Path:
        steps.append("replace")
        return replace(self, target)

    monkeypatch.setattr(os, "fsync", record_sync)
    monkeypatch.setattr(Path, "replace", record_replace)
    write_atomically(tmp_path / "new.bin", b"whole")
    assert steps == (["sync", "replace", "sync"] if os.name == "posix" else ["sync", "replace"])


def test_a_missing_folder_is_named(tmp_path: Path) -> None:
    with pytest.raises(EngravingError, match=r"^new\.bin cannot be written in .*gone"):
        write_atomically(tmp_path / "gone" / "new.bin", b"")


def test_a_folder_is_not_replaced(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(EngravingError, match=r"^folder cannot be written"):
        write_atomically(tmp_path / "folder", b"")
    assert names_in(tmp_path) == ["folder"]


def test_a_link_stays_and_its_file_is_replaced(tmp_path: Path) -> None:
    target = tmp_path / "target.bin"
    target.write_bytes(b"old")
    link = tmp_path / "link.bin"
    link.symlink_to(target)
    write_atomically(link, b"new")
    assert link.is_symlink()
    assert target.read_bytes() == b"new"
