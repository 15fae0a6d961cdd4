"""People and the yard they work for. Everything else belongs to a yard."""

from __future__ import annotations

from typing import Any
from zoneinfo import available_timezones

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.core.exceptions import ValidationError
from django.core.validators import RegexValidator
from django.db import models
from django.db.models.functions import Lower
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext_lazy as _


class UserManager(BaseUserManager["User"]):
    def create_user(self, username: str, password: str | None = None, **fields: Any) -> User:
        user = self.model(username=self.model.normalize_username(username), **fields)
        user.set_password(password)
        user.full_clean()
        user.save(using=self._db)
        return user

    def create_superuser(self, username: str, password: str | None = None, **fields: Any) -> User:
        return self.create_user(
            username, password, **{**fields, "is_staff": True, "is_superuser": True}
        )

    def get_by_natural_key(self, username: str | None) -> User:
        return self.get(username__iexact=username)


class User(AbstractBaseUser, PermissionsMixin):
    username = models.CharField(
        _("sign-in name"),
        max_length=60,
        unique=True,
        validators=[UnicodeUsernameValidator()],
        error_messages={"unique": _("This sign-in name is taken. Choose another one.")},
    )
    name = models.CharField(_("name"), max_length=120)
    email = models.EmailField(_("email"), blank=True)
    is_active = models.BooleanField(default=True)
    is_staff = models.BooleanField(default=False)
    session_generation = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(auto_now_add=True)

    objects = UserManager()

    USERNAME_FIELD = "username"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS = ["name"]

    class Meta:
        constraints = [
            models.UniqueConstraint(
                Lower("username"),
                name="user_username_any_case",
                violation_error_message=_("This sign-in name is taken. Choose another one."),
            )
        ]

    def __str__(self) -> str:
        return self.name or self.username

    def get_session_auth_hash(self) -> str:
        """Ties every session to the password and to a generation that can be raised."""
        return salted_hmac(
            "shop.models.accounts.User.session",
            f"{self.session_generation}:{self.password}",
            algorithm="sha256",
        ).hexdigest()

    def get_session_auth_fallback_hash(self) -> Any:
        """Old secret keys open no session: a key is changed to end them."""
        return iter(())


def validate_time_zone(value: str) -> None:
    if value not in available_timezones():
        raise ValidationError(
            _("“%(value)s” is no time zone. Use a name such as America/New_York."),
            params={"value": value},
        )


class Yard(models.Model):
    name = models.CharField(_("name"), max_length=120)
    address = models.TextField(_("address"), max_length=500, blank=True)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    email = models.EmailField(_("email"), blank=True)
    time_zone = models.CharField(
        _("time zone"), max_length=60, default="America/New_York", validators=[validate_time_zone]
    )
    currency = models.CharField(
        _("currency"), max_length=3, default="USD", validators=[RegexValidator(r"\A[A-Z]{3}\Z")]
    )
    base_url = models.URLField(_("address of this service"), blank=True)
    payment_days = models.PositiveSmallIntegerField(_("days to pay"), default=0)  # 0: on receipt
    payment_text = models.TextField(_("how to pay"), max_length=1000, blank=True)
    is_demo = models.BooleanField(default=False)
    created_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.name


class Role(models.TextChoices):
    LEAD = "lead", _("Lead")
    WRITER = "writer", _("Service writer")
    TECHNICIAN = "technician", _("Technician")
    BOOKKEEPER = "bookkeeper", _("Bookkeeper")


class Member(models.Model):
    """One person's place in one yard."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="members")
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(_("role"), max_length=20, choices=Role.choices)
    is_active = models.BooleanField(default=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["yard", "user"], name="member_once_per_yard"),
            models.CheckConstraint(
                condition=models.Q(role__in=Role.values), name="member_role_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.user} ({self.get_role_display()})"
