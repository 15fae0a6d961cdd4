"""The arrows between the parts of the house, read from the imports themselves."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests import architecture
from tests.architecture import all_imports, faults

ROOT = Path(__file__).resolve().parent.parent
STANDARD_LIBRARY = frozenset(sys.stdlib_module_names)


def test_no_import_goes_against_the_arrows() -> None:
    imports = all_imports(ROOT)
    assert len(imports) > 300
    assert faults(imports, STANDARD_LIBRARY) == {}


PLANTED = [
    ("fuelsys/graph/build.py", "import shop.models", "never imports the shop"),
    ("fuelsys/rules/base.py", "from django.db import models", "standard library"),
    ("fuelsys/units.py", "from fuelsys.document import read", "lower layers only"),
    ("fuelsys/document/model.py", "from fuelsys import graph", "lower layers only"),
    ("fuelsys/graph/walk.py", "from ..catalogue import hose", "lower layers only"),
    ("fuelsys/catalogue/fit.py", "from fuelsys.hydraulics import losses", "lower layers only"),
    ("fuelsys/cutting/plan.py", "from fuelsys.rules import base", "lower layers only"),
    ("fuelsys/hydraulics/losses.py", "from fuelsys.rules.base import Rule", "lower layers only"),
    ("fuelsys/rules/engine.py", "from fuelsys.evaluation import evaluate", "lower layers only"),
    ("fuelsys/rules/engine.py", "from fuelsys.management import x", "Django side"),
    ("fuelsys/evaluation.py", "import os.path", "clock, environment or network"),
    ("fuelsys/rules/base.py", "def f():\n    import time", "clock, environment or network"),
    ("fuelsys/rules/base.py", "import requests", "standard library"),
    ("shop/money.py", "from django.conf import settings", "pure"),
    ("shop/pricing/lines.py", "from shop.models import Quote", "pure modules only"),
    ("shop/drawing/layout.py", "import django", "pure"),
    ("shop/models/hulls.py", "from shop.services import hulls", "models, then services"),
    ("shop/models/hulls.py", "from shop.selectors.hulls import x", "models, then services"),
    ("shop/services/hulls.py", "from shop.views import boats", "models, then services"),
    ("shop/services/hulls.py", "from shop import tasks", "models, then services"),
    ("shop/selectors/hulls.py", "from shop.forms import boats", "models, then services"),
    ("shop/services/hulls.py", "from shop.management.commands import x", "models, then services"),
    ("shop/forms/boats.py", "from shop.views.boats import x", "models, then services"),
]


@pytest.mark.parametrize(("path", "code", "arrow"), PLANTED)
def test_twin_a_planted_import_is_found(tmp_path: Path, path: str, code: str, arrow: str) -> None:
    planted = tmp_path / path
    planted.parent.mkdir(parents=True)
    planted.write_text(f"from __future__ import annotations\n{code}\n")
    found = faults(all_imports(tmp_path), STANDARD_LIBRARY)
    assert len(found) == 1
    assert arrow in next(iter(found.values()))


def test_every_module_of_the_core_has_its_place_in_the_order() -> None:
    modules = {found.module for found in all_imports(ROOT)}
    core = {name for name in modules if name.startswith("fuelsys.")}
    layered = [*architecture.CORE_LAYERS, architecture.CORE_BRIDGES]
    assert [name for name in core if architecture.layer_of(name, layered) is None] == []


# Imports that cost hundreds of milliseconds and that a page or a check does not need.
HEAVY = ("weasyprint", "scipy", "numpy", "pypdf", "fluids", "redis", "celery", "kombu")


def loaded_after(code: str) -> list[str]:
    report = f"{code}\nimport sys\nprint([name for name in {HEAVY!r} if name in sys.modules])"
    setup = (
        "import os, django\n"
        "os.environ['DJANGO_SETTINGS_MODULE'] = 'tests.settings'\n"
        "django.setup()\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", setup + report], cwd=ROOT, check=True, capture_output=True, text=True
    )
    loaded: list[str] = eval(run.stdout)
    return loaded


def test_pages_and_checks_start_without_the_heavy_libraries() -> None:
    assert loaded_after("from django.core.checks import run_checks\nrun_checks()") == []


def test_twin_a_heavy_import_is_noticed() -> None:
    assert loaded_after("import shop.rendering.fetcher") == ["weasyprint"]
