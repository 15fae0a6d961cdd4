"""The fields of authz.yaml: what a role sees on no answer, and what no form of a role writes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

from django.apps import apps
from django.core.exceptions import FieldDoesNotExist
from django.db import connection, models

from tests.shop.trust import matrix

OTHER_YARD = "another yard"
# Smaller figures are lengths, counts and hours as well, and a whole hundred is a share.
LEAST, SHARE = Decimal(15), Decimal(100)


class NoSuchField(Exception):
    """The table of rights names a field that the shop has not."""


@dataclass(frozen=True)
class Forged:
    """A field as a form could send it, and where there is a form that has it by right."""

    name: str
    sent: str
    drawn_by: tuple[str, ...]  # the addresses whose own form has the field


def role_of(name: str) -> str:
    """Whose fields a program has: those of the member whose token it sends."""
    return name.removeprefix("token_of_")


@cache
def lists() -> dict[str, dict[str, Any]]:
    """The fields of each role and group of roles, read once."""
    found: dict[str, dict[str, Any]] = matrix.table()["fields"]
    return found


def never_seen(role: str) -> list[str]:
    """The columns, as `Model.column`, that a role sees on no answer."""
    seen: list[str] = lists().get(role_of(role), {}).get("never_sees", [])
    return seen


def never_written(role: str, other_yard: int) -> list[Forged]:
    """What is forged in the forms of a role: its own list and everyone's."""
    groups = matrix.table_groups()
    return [
        Forged(name, str(said["sent"]).replace(OTHER_YARD, str(other_yard)), _addresses(said))
        for group, said_of in lists().items()
        if role_of(role) == group or role_of(role) in groups.get(group, ())
        for name, said in said_of.get("never_writes", {}).items()
    ]


def _addresses(said: dict[str, Any]) -> tuple[str, ...]:
    return tuple(said.get("but", ()))


def figures(columns: list[str]) -> dict[str, set[str]]:
    """What stands in those columns, as an answer would show it, with the columns' names."""
    found: dict[str, set[str]] = {}
    for column in columns:
        model, field = column_of(column)
        for value in set(model._default_manager.values_list(field.name, flat=True)):
            if value is not None and value >= LEAST and value % SHARE:
                for figure in (f"{value:.2f}", f"{value:,.2f}"):
                    found.setdefault(figure, set()).add(column)
    return found


def column_of(column: str) -> tuple[type[models.Model], models.Field[Any, Any]]:
    model_name, _, name = column.partition(".")
    try:
        model = apps.get_model("shop", model_name)
        field = model._meta.get_field(name)
    except (LookupError, FieldDoesNotExist) as error:
        raise NoSuchField(column) from error
    assert isinstance(field, models.Field)
    return model, field


def shown(text: str, seen: dict[str, set[str]]) -> list[str]:
    """Figures of the columns that stand in a text as whole figures."""
    return sorted(set(re.findall(r"(?<![\d.,])\d[\d,]*\.\d{2}(?!\d)", text)) & set(seen))


def holders(forged: Forged) -> list[tuple[str, str, Any]]:
    """Every table with a column of that name that could hold the value: table, column, value."""
    found, known = [], False
    for model in apps.get_app_config("shop").get_models():
        for field in model._meta.concrete_fields:
            if forged.name not in (field.name, field.attname):
                continue
            known = True
            try:
                value = _prepared(field, forged.sent)
            except ValueError:  # a status in numbers takes no word
                continue
            found.append(
                (model._meta.db_table, connection.ops.quote_name(str(field.column)), value)
            )
    if not known:
        raise NoSuchField(forged.name)
    return found


def held(forged: list[Forged]) -> dict[str, int]:
    """How many rows hold each forged value, table by table; one question to the database."""
    asked, values = [], []
    for each in forged:
        for table, column, value in holders(each):
            asked.append(f"SELECT '{table}.{each.name}', COUNT(*) FROM {table} WHERE {column} = %s")
            values.append(value)
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(asked), values)
        return dict(cursor.fetchall())


def _prepared(field: models.Field[Any, Any], sent: str) -> Any:
    if isinstance(field, models.BooleanField):
        return field.get_db_prep_value(sent == "on", connection)
    return field.get_db_prep_value(field.get_prep_value(sent), connection)
