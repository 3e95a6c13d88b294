"""Files are written whole or not at all."""

from __future__ import annotations

import errno
import os
import resource
import stat
import tempfile
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from engraving import atomic
from engraving.atomic import make_folder, write_atomically
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


@pytest.mark.skipif(os.name != "posix", reason="named pipes are those of Unix")
def test_what_is_no_file_is_not_replaced(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    (tmp_path / "link.csv").symlink_to(tmp_path / "pipe.csv")
    for name in ("pipe.csv", "link.csv"):
        with pytest.raises(EngravingError, match=rf"^{name} cannot be written in .*: a pipe, a socket or a device has"):
            write_atomically(tmp_path / name, b"whole")
    assert stat.S_ISFIFO((tmp_path / "pipe.csv").stat().st_mode)
    assert names_in(tmp_path) == ["link.csv", "pipe.csv"]


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


def told(path: Path, data: bytes = b"new") -> str:
    """The sentence that says why a file cannot be written; nothing else is left in its folder."""
    before = names_in(path.parent) if path.parent.exists() else []
    with pytest.raises(EngravingError) as failed:
        write_atomically(path, data)
    assert "\n" not in str(failed.value)
    assert before == (names_in(path.parent) if path.parent.exists() else [])
    return str(failed.value)


def refusing(number: int, times: int = 1000) -> Callable[..., None]:
    """A call that fails with that error so many times."""
    left = [times]

    def call(*arguments: object, **named: object) -> None:
        left[0] -= 1
        if left[0] >= 0:
            raise OSError(number, os.strerror(number))

    return call


def test_a_link_to_nothing_stays_and_its_file_is_made(tmp_path: Path) -> None:
    (tmp_path / "link.bin").symlink_to("target.bin")
    write_atomically(tmp_path / "link.bin", b"new")
    assert (tmp_path / "link.bin").is_symlink()
    assert (tmp_path / "target.bin").read_bytes() == b"new"


def test_links_in_a_circle_are_told_and_stay(tmp_path: Path) -> None:
    (tmp_path / "a.bin").symlink_to("b.bin")
    (tmp_path / "b.bin").symlink_to("a.bin")
    assert told(tmp_path / "a.bin").startswith(f"a.bin cannot be written in {tmp_path}: Too many levels of symbolic")
    assert (tmp_path / "a.bin").is_symlink()


def test_a_name_may_be_as_long_as_the_file_system_takes(tmp_path: Path) -> None:
    # IEEE Std 1003.1, limits.h: NAME_MAX; 255 bytes on the file systems of Linux, macOS and Windows.
    longest = os.pathconf(tmp_path, "PC_NAME_MAX")
    write_atomically(tmp_path / ("a" * longest), b"new")
    assert told(tmp_path / ("b" * (longest + 1))).endswith("File name too long")


def test_a_file_that_is_write_protected_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "old.bin"
    path.write_bytes(b"old")
    path.chmod(0o444)
    assert told(path) == f"old.bin cannot be written in {tmp_path}: the file there is write-protected"
    assert path.read_bytes() == b"old"


@pytest.fixture
def folder_of_nobody() -> Iterator[Path]:
    """A folder that may be read, and in which the user of the test, who is not the administrator, may write nothing."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "old.bin").write_bytes(b"old")
        (folder / "old.bin").chmod(0o666)
        folder.chmod(0o555)
        user = os.geteuid()
        if user == 0:
            os.seteuid(65534)
        yield folder
        os.seteuid(user)
        folder.chmod(0o755)


def test_a_folder_in_which_nothing_may_be_written_is_told_and_its_file_stays(folder_of_nobody: Path) -> None:
    assert told(folder_of_nobody / "new.bin") == f"new.bin cannot be written in {folder_of_nobody}: Permission denied"
    assert told(folder_of_nobody / "old.bin") == f"old.bin cannot be written in {folder_of_nobody}: Permission denied"
    assert (folder_of_nobody / "old.bin").read_bytes() == b"old"
    with pytest.raises(EngravingError, match=r"^the folder set cannot be made in .*: Permission denied$"):
        make_folder(folder_of_nobody / "set")


def test_a_file_that_another_program_has_open_is_tried_again_and_then_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, replace = tmp_path / "old.bin", Path.replace
    path.write_bytes(b"old")
    monkeypatch.setattr(atomic, "_PATIENCE", (0.0, 0.0))
    monkeypatch.setattr(Path, "replace", refusing(errno.EACCES))
    assert told(path).endswith(f"{tmp_path}: Permission denied; another program may have it open")
    assert path.read_bytes() == b"old"
    refused = refusing(errno.EACCES, times=2)

    def refused_twice(self: Path, target: Path) -> Path:
        refused()
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", refused_twice)
    write_atomically(path, b"new")
    assert path.read_bytes() == b"new"


def test_a_file_that_grows_too_large_for_the_disk_leaves_nothing_behind(tmp_path: Path) -> None:
    path = tmp_path / "old.bin"
    path.write_bytes(b"old")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (5000, hard))
    try:
        assert told(path, bytes(9000)).endswith(": File too large")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert path.read_bytes() == b"old"


def test_rights_that_the_file_system_does_not_know_do_not_keep_a_file_from_being_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "old.bin"
    path.write_bytes(b"old")
    for name in ("chmod", "chown"):
        monkeypatch.setattr(os, name, refusing(errno.EPERM))
    write_atomically(path, b"new")
    assert path.read_bytes() == b"new"


def test_a_private_file_is_private_from_its_beginning(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path, modes = tmp_path / "old.bin", []
    path.write_bytes(b"old")
    path.chmod(0o600)

    def looking(call: Callable[..., Any], handle: int, *more: Any) -> Any:
        modes.append(os.fstat(handle).st_mode & 0o777)
        return call(handle, *more)

    for name in ("chown", "write"):
        monkeypatch.setattr(os, name, partial(looking, getattr(os, name)))
    write_atomically(path, b"new")
    assert modes == [0o600, 0o600]


def test_a_folder_whose_entry_cannot_be_seen_to_is_no_failure_and_one_that_fails_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, sync = tmp_path / "new.bin", os.fsync
    failing = [errno.EINVAL]

    def fsync(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            refusing(failing[0])()
        sync(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    write_atomically(path, b"new")
    failing[0] = errno.EIO
    with pytest.raises(EngravingError, match=r"^new\.bin is written in .* does not say that it is safe there: Input"):
        write_atomically(path, b"newer")
    assert path.read_bytes() == b"newer"


def test_what_a_process_that_died_left_half_written_is_cleared_away_the_day_after(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def died(path: Path, missing_ok: bool = False) -> None:
        raise OSError(errno.EIO, "the process has died")

    with monkeypatch.context() as dying:
        dying.setattr(os, "fsync", refusing(errno.EIO))
        dying.setattr(Path, "unlink", died)
        with pytest.raises(EngravingError):
            write_atomically(tmp_path / "new.bin", b"new")
    (left,) = tmp_path.iterdir()
    assert left.name.startswith(".handframe-")
    write_atomically(tmp_path / "new.bin", b"new")
    assert left.exists()
    os.utime(left, (left.stat().st_mtime - 100_000,) * 2)
    write_atomically(tmp_path / "other.bin", b"new")
    assert left.exists()
    write_atomically(tmp_path / "new.bin", b"new")
    assert names_in(tmp_path) == ["new.bin", "other.bin"]
