"""Who calls: a signed-in person's session, or a member's token."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.utils import timezone
from rest_framework.authentication import BaseAuthentication, SessionAuthentication
from rest_framework.exceptions import AuthenticationFailed, Throttled
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from shop.limits import API_MEMBER, TOKEN_ADDRESS, client_address, limit_take
from shop.models import ApiToken, Member, User
from shop.services.refusals import audit_api_limit, audit_locked_out, audit_token_refused
from shop.services.tokens import token_find

if TYPE_CHECKING:
    from rest_framework.views import APIView

SCHEME = "Bearer"


class TokenAuthentication(BaseAuthentication):
    """`Authorization: Bearer <token>`; a wrong one counts against the address it came from."""

    def authenticate(self, request: Request) -> tuple[User, ApiToken] | None:
        scheme, _, text = request.headers.get("Authorization", "").partition(" ")
        if scheme != SCHEME:
            return None
        token = token_find(text.strip(), now=timezone.now())
        if token is None:
            taken = limit_take(TOKEN_ADDRESS, client_address(request))
            if not taken.allowed:
                audit_token_refused(text=text.strip(), action="token.limit")
                raise Throttled(taken.wait_seconds)
            audit_token_refused(text=text.strip())
            raise AuthenticationFailed("This token opens nothing. Make a new one on your account.")
        return token.member.user, token

    def authenticate_header(self, request: Request) -> str:
        return SCHEME


class IsMember(BasePermission):
    """Sets `request.member`, the active member of a yard; everyone else is refused."""

    message = "Sign in, or send a token of an active member of the shop."

    def has_permission(self, request: Request, view: APIView) -> bool:
        member = _member(request)
        request.member = member  # type: ignore[attr-defined]  # read through `member_of`
        request._request.member = member  # type: ignore[attr-defined]  # for the headers
        if member is None:
            if request.user.is_authenticated:
                audit_locked_out(user_id=request.user.pk)
            return False
        taken = limit_take(API_MEMBER, str(member.pk))
        if not taken.allowed:
            audit_api_limit(member=member)
            raise Throttled(taken.wait_seconds)
        return True


def member_of(request: Request) -> Member:
    member: Member = request.member  # type: ignore[attr-defined]  # set by IsMember
    return member


def _member(request: Request) -> Member | None:
    if isinstance(request.auth, ApiToken):
        return request.auth.member
    if not request.user.is_authenticated:
        return None
    rows = Member.objects.filter(user=request.user, is_active=True, user__is_active=True)
    return rows.select_related("yard", "user").first()


class PageSession(SessionAuthentication):
    """The session of the pages; unsafe calls carry the page's CSRF token."""
