"""Files kept under the name of their own SHA-256: written aside, synced, renamed into place.

A reader finds a whole file or none; the same bytes are kept once.
"""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

SHA256_PATTERN = re.compile(r"[0-9a-f]{64}")
PARTIAL_SUFFIX = ".part"


@dataclass(frozen=True)
class KeptFile:
    sha256: str
    size: int


def file_path(root: Path, sha256: str) -> Path:
    if not SHA256_PATTERN.fullmatch(sha256):
        raise ValueError(f"{sha256!r} is not a SHA-256 in lower-case hex.")
    return root / sha256[:2] / sha256


def file_keep(root: Path, data: bytes) -> KeptFile:
    """Store `data` durably; when this returns, a power cut no longer loses it."""
    kept = KeptFile(sha256=hashlib.sha256(data).hexdigest(), size=len(data))
    final = file_path(root, kept.sha256)
    if not final.parent.is_dir():
        final.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        sync_folder(root)
    descriptor, partial = tempfile.mkstemp(dir=root, suffix=PARTIAL_SUFFIX)
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(partial, final)
    except OSError:
        Path(partial).unlink(missing_ok=True)
        raise
    sync_folder(final.parent)
    return kept


def file_read(root: Path, sha256: str) -> bytes:
    return file_path(root, sha256).read_bytes()


def file_fault(root: Path, sha256: str, size: int | None) -> str:
    """What is wrong with a kept file, in words; blank where it is the one that was kept."""
    try:
        data = file_read(root, sha256)
    except OSError as error:
        return f"cannot be read: {error.strerror}"
    except ValueError:
        return "is not named by a hash"
    if hashlib.sha256(data).hexdigest() != sha256 or len(data) != size:
        return "is not the one that was kept"
    return ""


def file_discard(root: Path, sha256: str) -> None:
    file_path(root, sha256).unlink(missing_ok=True)


def partials_sweep(root: Path, *, older_than_seconds: float) -> int:
    """Remove what killed writers left behind, and return how many files that were."""
    removed = 0
    for partial in root.glob(f"*{PARTIAL_SUFFIX}"):
        try:
            age_seconds = time.time() - partial.stat().st_mtime
        except FileNotFoundError:
            continue  # its writer has just renamed it into place
        if age_seconds > older_than_seconds:
            partial.unlink(missing_ok=True)
            removed += 1
    return removed


def sync_folder(folder: Path) -> None:
    """Make a rename in this folder survive a power cut."""
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
