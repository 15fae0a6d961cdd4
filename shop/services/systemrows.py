"""Writing the rows of a fuel system, shared by storing, proposing and correcting."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import models
from django.utils.translation import gettext as _

from fuelsys.document import InputProblems, read_object
from shop.exceptions import FactError, FactProblem
from shop.models import Hull


def system_check(document: Mapping[str, Any]) -> None:
    """Raise FactError, with every problem, unless the document reads."""
    try:
        read_object(document)
    except InputProblems as error:
        raise FactError(
            tuple(
                FactProblem(
                    problem.path,
                    _("This says %(found)s. It should be %(expected)s.")
                    % {"found": problem.found, "expected": problem.expected},
                )
                for problem in error.problems
            )
        ) from error


def boat_save(hull: Hull, boat: Mapping[str, Any]) -> None:
    hull.facts = without(boat, "hin")
    hull.hin = boat.get("hin") or ""
    hull.hin_as_read = hull.hin_as_read or hull.hin
    clean_and_save(hull)


def without(item: Mapping[str, Any], *names: str) -> dict[str, Any]:
    return {name: held for name, held in item.items() if name not in names and held is not None}


def clean_and_save(row: models.Model) -> None:
    row.full_clean()
    row.save()
