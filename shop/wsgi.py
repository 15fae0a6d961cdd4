"""The WSGI entry point that the web server loads: warmed up before the first request."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")

application = get_wsgi_application()

from shop.warming import warm  # noqa: E402  # imports models, so the apps are loaded first

warm()
