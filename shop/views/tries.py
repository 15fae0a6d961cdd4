"""How often a sign-in may be tried: per address, and per account or known device.

A device on which the account has signed in before has tries of its own. So whoever tries
passwords from elsewhere makes strangers wait, not the person on their own device.
"""

from __future__ import annotations

import secrets
import unicodedata
from datetime import timedelta

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse

from shop.limits import (
    SIGN_IN_ACCOUNT,
    SIGN_IN_ADDRESS,
    SIGN_IN_DEVICE,
    Limit,
    Taken,
    client_address,
    limit_clear,
    limit_take,
)

LIFE = timedelta(days=365)
SALT = "hosewright.device.1"


def cookie_name() -> str:
    return "device" if settings.LOCAL_HTTP else "__Host-device"


def try_take(request: HttpRequest, username: str) -> Taken:
    """Take one try of this address and of the account, whether it exists or not."""
    taken = limit_take(SIGN_IN_ADDRESS, client_address(request))
    if not taken.allowed:
        return taken
    return limit_take(*_counted(request, username))


def try_succeeded(request: HttpRequest, response: HttpResponse, username: str) -> None:
    """Forget the wrong passwords before the right one, and know the device from now on."""
    limit_clear(*_counted(request, username))
    value = signing.dumps([_folded(username), secrets.token_urlsafe(16)], salt=SALT)
    response.set_cookie(
        cookie_name(),
        value,
        max_age=LIFE,
        secure=not settings.LOCAL_HTTP,
        httponly=True,
        samesite="Lax",
    )


def _counted(request: HttpRequest, username: str) -> tuple[Limit, str]:
    device = _device_of(request, username)
    if device:
        return SIGN_IN_DEVICE, device
    return SIGN_IN_ACCOUNT, _folded(username)


def _device_of(request: HttpRequest, username: str) -> str:
    """The device's own mark, if its cookie says that this account has signed in on it."""
    try:
        known, device = signing.loads(
            request.COOKIES.get(cookie_name(), ""), salt=SALT, max_age=LIFE
        )
    except signing.BadSignature:
        return ""
    return str(device) if known == _folded(username) else ""


def _folded(username: str) -> str:
    """As the sign-in form reads it, so that no other spelling of a name has tries of its own."""
    return unicodedata.normalize("NFKC", username).strip().casefold()
