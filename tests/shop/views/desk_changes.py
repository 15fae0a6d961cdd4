"""A change order as the desk draws it up."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from shop.models import WorkOrder
from tests.shop.owning import Small, authorized
from tests.shop.views.pages import send

CHANGE = {"reason": "Found while open.", "work_1": "Fit a bulb", "hours_1": "0.50"}


def begun(client: Client, small: Small, **fields: Any) -> HttpResponse:
    order = WorkOrder.objects.filter(job=small.job).first() or authorized(small)
    return send(client, reverse("changeorder_new", args=[order.pk]), {**CHANGE, **fields})
