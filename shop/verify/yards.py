"""Every row belongs to one yard with all that it refers to."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db import models
from django.db.models import F

from shop.models import Yard
from shop.verify.model import Fault, Look


def apart(look: Look) -> Iterator[Fault]:
    """Where a row and the row it refers to both name a yard, it is the same one."""
    for model in apps.get_app_config("shop").get_models():
        if not names_yard(model):
            continue
        for field in references(model):
            look.at()
            rows = model._default_manager.exclude(**{f"{field.name}__yard": F("yard")})
            for pk in rows.filter(**{f"{field.name}__isnull": False}).values_list("pk", flat=True):
                subject = f"{model._meta.model_name} {pk}"
                yield Fault(subject, f"its {field.name} is another yard's", "its own yard's")


def names_yard(model: type[models.Model]) -> bool:
    return any(isinstance(f, models.ForeignKey) and f.name == "yard" for f in model._meta.fields)


def references(model: type[models.Model]) -> Iterator[models.Field[Any, Any]]:
    for field in model._meta.fields:
        if isinstance(field, models.ForeignKey) and field.name != "yard":
            other = field.related_model
            if isinstance(other, type) and other is not Yard and names_yard(other):
                yield field
