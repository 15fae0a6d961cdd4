"""The URL table: every module of shop/views/urls is one area of it."""

from importlib import import_module
from pkgutil import iter_modules

from django.urls import URLPattern, URLResolver, include, path

from shop.views import urls as areas


def area_modules() -> list[str]:
    return sorted(f"{areas.__name__}.{module.name}" for module in iter_modules(areas.__path__))


urlpatterns: list[URLPattern | URLResolver] = [
    path("", include(import_module(name))) for name in area_modules()
]

handler400 = "shop.errors.bad_request"
handler403 = "shop.errors.permission_denied"
handler404 = "shop.errors.page_not_found"
handler500 = "shop.errors.server_error"
