from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from django.core.management import call_command

from fuelsys.document.schema import schema, schema_text
from fuelsys.management.commands import schema as command


def test_it_prints_the_schema() -> None:
    out = io.StringIO()
    call_command("schema", "--print", stdout=out)
    assert json.loads(out.getvalue()) == schema()


def test_it_writes_the_published_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    place = tmp_path / "fuel-system-1.schema.json"
    monkeypatch.setattr(command, "PUBLISHED", place)
    out = io.StringIO()
    call_command("schema", stdout=out)
    assert place.read_text(encoding="utf-8") == schema_text()
    assert out.getvalue().startswith("fuel-system-1.schema.json: ")
