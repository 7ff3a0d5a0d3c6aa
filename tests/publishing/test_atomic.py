"""Writing a batch of files: whole or not at all."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from ipmcal.publishing.disk.atomic import write_all


def tree(folder: Path) -> dict[str, bytes]:
    """All files below a folder with their content."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_batch_is_written_and_nothing_else_is_left(tmp_path: Path) -> None:
    (tmp_path / "b").write_bytes(b"old")
    paths = [tmp_path / "b", tmp_path / "new" / "deep" / "a.ics"]
    assert write_all({paths[0]: b"new", paths[1]: b"\r\n"}) == tuple(paths)
    assert tree(tmp_path) == {"b": b"new", "new/deep/a.ics": b"\r\n"}


def test_same_content_is_not_touched(tmp_path: Path) -> None:
    path = tmp_path / "a"
    write_all({path: b"same"})
    os.utime(path, (1, 1))
    before = path.stat()
    assert write_all({path: b"same", tmp_path / "b": b""}) == (tmp_path / "b",)
    assert (path.stat().st_mtime, path.stat().st_ino) == (before.st_mtime, before.st_ino)
    assert write_all({path: b"SAME"}) == (path,)


def test_failure_while_writing_changes_nothing(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"old")
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(OSError, match="file"):
        write_all({tmp_path / "a": b"new", tmp_path / "file" / "below": b"can't be"})
    assert tree(tmp_path) == {"a": b"old", "file": b""}


def test_full_disk_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a").write_bytes(b"old")
    calls: list[int] = []

    def fsync(handle: int) -> None:
        calls.append(handle)
        if len(calls) == 2:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fsync)
    with pytest.raises(OSError, match="No space"):
        write_all({tmp_path / "a": b"new", tmp_path / "b": b"new"})
    assert tree(tmp_path) == {"a": b"old"}


def test_all_is_flushed_before_the_first_rename_and_renamed_in_order(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done: list[str] = []
    fsync, rename = os.fsync, os.replace

    def watched_fsync(handle: int) -> None:
        done.append("folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "file")
        fsync(handle)

    def watched_rename(old: Path, new: Path) -> None:
        done.append(new.name)
        assert old.parent == new.parent
        rename(old, new)

    monkeypatch.setattr(os, "fsync", watched_fsync)
    monkeypatch.setattr(os, "replace", watched_rename)
    write_all({tmp_path / "z": b"1", tmp_path / "a": b"2"})
    assert done == ["file", "file", "z", "a", "folder"]


def test_crash_between_renames_leaves_whole_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in "ab":
        (tmp_path / name).write_bytes(b"old")
    rename = os.replace

    def failing(old: Path, new: Path) -> None:
        if new.name == "b":
            raise OSError("gone")
        rename(old, new)

    monkeypatch.setattr(os, "replace", failing)
    with pytest.raises(OSError, match="gone"):
        write_all({tmp_path / "a": b"new", tmp_path / "b": b"new"})
    assert tree(tmp_path) == {"a": b"new", "b": b"old"}


def test_link_is_followed_and_rights_are_those_of_a_new_file(tmp_path: Path) -> None:
    (tmp_path / "real").write_bytes(b"old")
    (tmp_path / "link").symlink_to("real")
    write_all({tmp_path / "link": b"new"})
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_bytes() == b"new"
    plain = tmp_path / "plain"
    plain.write_bytes(b"")
    assert (tmp_path / "real").stat().st_mode == plain.stat().st_mode  # a web server has to read it


def test_two_contents_for_one_file_are_refused(tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to("real")
    with pytest.raises(ValueError, match="two contents"):
        write_all({tmp_path / "link": b"1", tmp_path / "real": b"2"})
    assert tree(tmp_path) == {}


def test_a_file_keeps_its_rights(tmp_path: Path) -> None:
    path = tmp_path / "shared.csv"
    path.write_bytes(b"old")
    path.chmod(0o664)
    write_all({path: b"new"})
    assert (path.read_bytes(), stat.S_IMODE(path.stat().st_mode)) == (b"new", 0o664)


def test_a_read_only_file_is_refused_and_nothing_is_written(tmp_path: Path) -> None:
    path = tmp_path / "kept.csv"
    path.write_bytes(b"old")
    path.chmod(0o444)
    with pytest.raises(PermissionError, match="it is read-only"):
        write_all({tmp_path / "other": b"new", path: b"new"})
    assert tree(tmp_path) == {"kept.csv": b"old"}


@pytest.mark.skipif(os.name != "posix", reason="processes are asked for as on a POSIX system")
def test_parts_of_a_process_that_is_no_more_are_swept_and_those_of_a_running_one_stay(tmp_path: Path) -> None:
    done = subprocess.run([sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True, check=True)
    gone, running = tmp_path / f".a.{int(done.stdout)}.part", tmp_path / f".a.{os.getppid()}.part"
    gone.write_bytes(b"half")
    running.write_bytes(b"half")
    write_all({tmp_path / "b": b"new"})
    assert tree(tmp_path) == {"b": b"new", running.name: b"half"}
