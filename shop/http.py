"""The request as views see it once the middleware has found the member."""

from django.http import HttpRequest

from shop.models import Member


class MemberRequest(HttpRequest):
    """A request by a signed-in, active member of a yard."""

    member: Member
