"""Long lists, a page at a time."""

from __future__ import annotations

from typing import Any, TypeVar

from django.core.paginator import Page, Paginator
from django.db.models import Model, QuerySet
from django.http import HttpRequest

ROWS_A_PAGE = 50

ModelT = TypeVar("ModelT", bound=Model)


def page_of(request: HttpRequest, rows: QuerySet[ModelT]) -> Page[ModelT]:
    """The page asked for; a page beyond either end is the nearest one."""
    pages: Paginator[Any] = Paginator(rows, ROWS_A_PAGE)
    return pages.get_page(request.GET.get("page"))
