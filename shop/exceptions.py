"""What can go wrong in the shop, in narrow classes. Messages are written for the person."""

from __future__ import annotations

from dataclasses import dataclass

from django.core.exceptions import PermissionDenied, ValidationError
from django.http import Http404


class ShopError(Exception):
    """A request that cannot be done as asked; `status` is the HTTP answer it amounts to."""

    status = 400


class KeyMissing(ShopError):
    """A request with effects came without its idempotency key."""

    status = 400


class Refused(ShopError):
    """The act is not possible as things stand; the message says why and what to do."""

    status = 409


class Conflict(Refused):
    """Someone else has changed the thing meanwhile, or it no longer takes changes."""


class KeyReused(ShopError):
    """One idempotency key came with two different requests."""

    status = 422


@dataclass(frozen=True, slots=True)
class FactProblem:
    """What is wrong with one fact: its path in the document, and the words for its field."""

    path: str
    message: str


class FactError(ShopError, ValidationError):
    """Facts that the fuel-system document does not accept; forms take it as field errors."""

    status = 422

    def __init__(self, problems: tuple[FactProblem, ...]) -> None:
        self.problems = problems
        ValidationError.__init__(self, [problem.message for problem in problems])


class AccessDenied(PermissionDenied):
    """The member's role does not allow the act. Carries what the audit log needs of it."""

    action = "access.denied"

    def __init__(self, member_id: int, act: str, kind: str = "", pk: str = "") -> None:
        self.member_id = member_id
        self.act = act
        self.kind = kind
        self.pk = pk
        super().__init__(f"Your role does not include “{act}”. Ask a lead of the shop.")


class ForeignObject(Http404):
    """An object of another yard: it answers as an absent one, and the audit log knows better."""

    action = "access.foreign"

    def __init__(self, message: str, member_id: int, act: str, kind: str, pk: str) -> None:
        self.member_id = member_id
        self.act = act
        self.kind = kind
        self.pk = pk
        super().__init__(message)
