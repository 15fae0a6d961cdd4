import hashlib
import os
from pathlib import Path

import pytest

from shop import files


def test_a_file_is_kept_under_the_hash_of_its_bytes(tmp_path: Path) -> None:
    kept = files.file_keep(tmp_path, b"fuel")
    assert kept.sha256 == hashlib.sha256(b"fuel").hexdigest()
    assert (kept.size, files.file_read(tmp_path, kept.sha256)) == (4, b"fuel")
    assert list(tmp_path.glob("*.part")) == []


def test_the_same_bytes_are_kept_once(tmp_path: Path) -> None:
    assert files.file_keep(tmp_path, b"fuel") == files.file_keep(tmp_path, b"fuel")
    assert len([path for path in tmp_path.rglob("*") if path.is_file()]) == 1


@pytest.mark.parametrize("name", ["", "../../etc/passwd", "A" * 64, "a" * 63, "a" * 65])
def test_only_a_hash_names_a_file(tmp_path: Path, name: str) -> None:
    with pytest.raises(ValueError, match="SHA-256"):
        files.file_read(tmp_path, name)


def test_a_failed_write_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    (tmp_path / hashlib.sha256(b"fuel").hexdigest()[:2]).mkdir()
    with pytest.raises(OSError, match="No space"):
        files.file_keep(tmp_path, b"fuel")
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []


def test_the_sweep_takes_only_what_was_abandoned(tmp_path: Path) -> None:
    fresh, old = tmp_path / "fresh.part", tmp_path / "old.part"
    for path in (fresh, old):
        path.write_bytes(b"half")
    os.utime(old, (1, 1))
    kept = files.file_keep(tmp_path, b"fuel")
    assert files.partials_sweep(tmp_path, older_than_seconds=3600) == 1
    assert (fresh.exists(), old.exists()) == (True, False)
    assert files.file_read(tmp_path, kept.sha256) == b"fuel"


def test_the_sweep_passes_over_a_file_that_its_writer_is_just_naming(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Path, "glob", lambda *_: iter([tmp_path / "renamed.part"]))
    assert files.partials_sweep(tmp_path, older_than_seconds=0) == 0
