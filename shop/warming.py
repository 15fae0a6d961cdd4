"""What the first requests of a web process need, read and parsed before it takes any.

A cold process would make whoever asks first wait for the imports of all pages, for every template
to be compiled and for the rules to be read. Nothing is written, and no database is asked.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Callable
from datetime import date
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.storage import staticfiles_storage
from django.template.loader import get_template
from django.urls import reverse

from fuelsys.document import read_object
from fuelsys.evaluation import evaluate
from fuelsys.rules.engine import all_rules
from shop import collector
from shop.drawing import draw_system
from shop.selectors.rule_cases import case_names

logger = logging.getLogger(__name__)

# One whole boat of the demonstration: judging and drawing her goes through all that a page of a
# boat goes through. The day is any day; what stays is what was read, not what was judged.
EXAMPLE = Path(__file__).parent / "demo" / "data" / "second-helping-found.json"
JUDGED_ON = date(2026, 1, 1)


def warm() -> None:
    """Do each step; one that fails is logged and left to the first request, which then says why."""
    for step in STEPS:
        try:
            step()
        except Exception:
            logger.exception("%s could not be read ahead; the first page waits for it.", step)


def pages() -> None:
    """Import every page, and build the table of addresses and of static files."""
    reverse("login")
    staticfiles_storage.url("css/base.css")


def templates() -> None:
    """Compile every template; Django keeps what it compiled."""
    for name in template_names():
        get_template(name)


def template_names() -> list[str]:
    folder = settings.BASE_DIR / "templates"
    paths = sorted(path for path in folder.rglob("*") if path.suffix in (".html", ".txt"))
    return [path.relative_to(folder).as_posix() for path in paths]


def rules() -> None:
    """Read rules, parameters and the tables of cases; judge a boat and draw her."""
    case_names(all_rules()[0].id)
    document = read_object(json.loads(EXAMPLE.read_text(encoding="utf-8")))
    draw_system(document, evaluate(document, on=JUDGED_ON), size="desk")


# Last what settles on what the others have read.
STEPS: tuple[Callable[[], None], ...] = (pages, templates, rules, collector.settle)
