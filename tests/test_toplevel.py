"""What lies at the top of the repository, exactly."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
ALLOWED = {
    "CHANGELOG.md",
    "DEVELOPERS.md",
    "Dockerfile",
    "LICENSE",
    "Makefile",
    "README.md",
    "SECURITY.md",
    "docker-compose.yml",
    "fuelsys",
    "manage.py",
    "pyproject.toml",
    "requirements-dev.txt",
    "requirements.txt",
    "shop",
    "static",
    "templates",
    "tests",
}


def tracked(root: Path) -> list[str]:
    """Return every path under version control, or about to be: ignored files are nobody's."""
    command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    run = subprocess.run(command, cwd=root, check=True, capture_output=True, text=True)
    return [name for name in run.stdout.split("\0") if name]


def visible_top(names: list[str]) -> set[str]:
    return {top for name in names if not (top := name.split("/")[0]).startswith(".")}


def test_the_top_level_is_exactly_this() -> None:
    assert visible_top(tracked(ROOT)) == ALLOWED


def test_twin_a_stray_file_is_seen(tmp_path: Path) -> None:
    subprocess.run(["git", "init", "-q"], cwd=tmp_path, check=True)
    (tmp_path / "notes.txt").write_text("stray")
    assert visible_top(tracked(tmp_path)) == {"notes.txt"}


# Spelled in two halves so that this file itself stays clean.
FOREIGN = ["/wo" + "rk/", "/ro" + "ot/", "TO" + "DO", "FIX" + "ME", "NotImplemented" + "Error"]


def foreign_words(path: Path) -> list[str]:
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return []
    return [word for word in FOREIGN if word in text]


def own_files() -> list[Path]:
    vendored = ("static/vendor/", "tests/browser/vendor/")
    names = [name for name in tracked(ROOT) if not name.startswith(vendored)]
    return [ROOT / name for name in names if (ROOT / name).is_file()]


def test_no_file_speaks_of_unfinished_work_or_of_one_machine() -> None:
    assert {str(path): found for path in own_files() if (found := foreign_words(path))} == {}


@pytest.mark.parametrize("word", FOREIGN)
def test_twin_each_word_is_found(tmp_path: Path, word: str) -> None:
    planted = tmp_path / "planted.py"
    planted.write_text(f"# {word} x\n")
    assert foreign_words(planted) == [word]
