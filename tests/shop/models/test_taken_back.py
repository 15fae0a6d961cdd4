"""A migration that would drop what issued lines say is not taken back."""

from __future__ import annotations

import pytest
from django.apps import apps
from django.db import connection
from django.db.migrations import Migration
from django.db.migrations.exceptions import IrreversibleError
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.state import ProjectState

from shop.models import Product
from tests.shop.owning import make_small

pytestmark = pytest.mark.django_db


def condition() -> Migration:
    return MigrationLoader(None).get_migration("shop", "0008_part_condition")


def test_the_condition_of_a_part_is_not_dropped_while_a_row_tells_it() -> None:
    make_small()
    state, editor = ProjectState.from_apps(apps), connection.schema_editor()
    first_back = condition().operations[-1]  # what is asked before anything is dropped
    first_back.database_backwards("shop", editor, state, state)  # all is new: nothing is lost
    Product.objects.filter(sku="F-TEST").update(condition="used")
    with pytest.raises(IrreversibleError, match=r"used, rebuilt or reconditioned \(Product 1\)"):
        first_back.database_backwards("shop", editor, state, state)
