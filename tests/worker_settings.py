"""Settings of a worker beside a test: the shop's, with static files read where they are written."""

from shop.settings import *  # noqa: F403  # all of the shop's settings
from shop.settings import STORAGES

STORAGES = {
    **STORAGES,
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
