"""Lint, format, types, the deployment settings of a real shop, and migrations left unwritten.

`python -m tests.check` is what `make check` calls. Every step runs, and the names of those that
failed stand at the end.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile

# A shop on the open network, as docker-compose.yml would run it. No secret is kept here.
PRODUCTION = {
    "BASE_URL": "https://fuel.example.com",
    "DJANGO_SETTINGS_MODULE": "shop.settings",
}
INHERITED = ("HOME", "LANG", "PATH")

PYTHON = sys.executable
STEPS: dict[str, list[str]] = {
    "lint": [PYTHON, "-m", "ruff", "check", "."],
    "format": [PYTHON, "-m", "ruff", "format", "--check", "."],
    "types": [PYTHON, "-m", "mypy"],
    "deployment": [PYTHON, "manage.py", "check", "--deploy", "--fail-level", "WARNING"],
    "migrations": [PYTHON, "manage.py", "makemigrations", "--check", "--dry-run"],
}


def environment(data_dir: str, key: str) -> dict[str, str]:
    kept = {name: os.environ[name] for name in INHERITED if name in os.environ}
    return {**kept, **PRODUCTION, "DATA_DIR": data_dir, "SECRET_KEY": key}


def main() -> int:
    failed = []
    with tempfile.TemporaryDirectory(prefix="hosewright-check-") as data_dir:
        for name, command in STEPS.items():
            print(f"== {name}", flush=True)
            made = environment(data_dir, os.urandom(40).hex())
            if subprocess.run(command, env=made).returncode != 0:
                failed.append(name)
    print(f"Failed: {', '.join(failed)}" if failed else "All checks are clean.")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
