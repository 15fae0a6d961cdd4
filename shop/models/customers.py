from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from shop.models.accounts import Yard


class Customer(models.Model):
    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="customers")
    name = models.CharField(_("name"), max_length=120)
    email = models.EmailField(_("email"), blank=True)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    address = models.TextField(_("address"), max_length=500, blank=True)
    notes = models.TextField(_("notes"), max_length=4000, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name
