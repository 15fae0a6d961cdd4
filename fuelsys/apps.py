"""The core as a Django app, for its two commands only; it has no models."""

from django.apps import AppConfig


class FuelsysConfig(AppConfig):
    name = "fuelsys"
    verbose_name = "Fuel systems"
