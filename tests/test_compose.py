"""docker-compose.yml against the published compose schema, and against our own rules for it."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml

from shop.management.commands import serve

ROOT = Path(__file__).resolve().parent.parent
COMPOSE = ROOT / "docker-compose.yml"


def schema_check(path: Path) -> subprocess.CompletedProcess[str]:
    command = ["-m", "check_jsonschema", "--builtin-schema", "vendor.compose-spec", str(path)]
    return subprocess.run([sys.executable, *command], capture_output=True, text=True)


def services(text: str) -> dict[str, Any]:
    found: dict[str, Any] = yaml.safe_load(text)["services"]
    return found


def house_faults(text: str) -> list[str]:
    return [
        f"{name}: {fault}" for name, service in services(text).items() for fault in faults(service)
    ]


def faults(service: dict[str, Any]) -> list[str]:
    found = []
    if not service.get("healthcheck", {}).get("test"):
        found.append("has no health check")
    tag = service.get("image", "").partition(":")[2]
    if not re.search(r"\d+\.\d+", tag):
        found.append("names no exact version")
    found += [
        f"offers {port} to other machines"
        for port in service.get("ports", [])
        if not str(port).startswith("127.0.0.1:")
    ]
    return found


def test_it_follows_the_compose_schema() -> None:
    run = schema_check(COMPOSE)
    assert run.returncode == 0, run.stdout


def test_twin_the_schema_check_finds_a_misspelled_key(tmp_path: Path) -> None:
    planted = tmp_path / "docker-compose.yml"
    planted.write_text(COMPOSE.read_text().replace("healthcheck:", "healthchek:", 1))
    assert schema_check(planted).returncode != 0


def test_it_follows_our_own_rules() -> None:
    assert house_faults(COMPOSE.read_text()) == []


@pytest.mark.parametrize(
    ("was", "planted"),
    [
        ("image: redis:7.2.10-bookworm", "image: redis:latest"),
        ('"127.0.0.1:8000:8000"', '"8000:8000"'),
        ('      test: ["CMD", "redis-cli", "ping"]\n', "      disable: true\n"),
    ],
)
def test_twin_each_rule_finds_its_fault(was: str, planted: str) -> None:
    text = COMPOSE.read_text()
    assert was in text
    assert len(house_faults(text.replace(was, planted))) == 1


def test_every_setting_it_gives_is_one_that_we_read() -> None:
    settings = (ROOT / "shop" / "settings.py").read_text()
    for name in ("web", "worker"):
        for variable in services(COMPOSE.read_text())[name]["environment"]:
            assert f'"{variable}"' in settings


def test_the_two_sides_are_started_by_the_supervisor() -> None:
    found = services(COMPOSE.read_text())
    for side in ("web", "worker"):
        assert found[side]["command"][1:] == ["manage.py", "serve", "--only", side]
        assert len(serve.children(side, "0.0.0.0", 8000)) == 1


def test_what_must_be_filled_in_stands_in_the_example() -> None:
    wanted = set(re.findall(r"\$\{([A-Z_]+):\?", COMPOSE.read_text()))
    example = (ROOT / ".env.example").read_text()
    assert wanted == set(re.findall(r"^([A-Z_]+)=$", example, re.MULTILINE))
