from __future__ import annotations

from decimal import Decimal
from enum import Enum
from fractions import Fraction
from typing import Final

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from fuelsys.rules.engine import all_rules, practice_ids
from fuelsys.rules.own_numbers import number_faults
from shop.models import Member, PracticeSetting
from shop.numbering import local_day
from shop.services.audit import audit_append
from shop.texts import text_words


class Left(Enum):
    """Nothing was said of a value."""

    AS_IT_IS = "as it is"


AS_IT_IS: Final = Left.AS_IT_IS


@transaction.atomic
def practice_set(
    *, member: Member, rule_id: str, setting: str, number: Decimal | Left | None = AS_IT_IS
) -> PracticeSetting:
    """Set how the yard takes one rule of practice, and its own number. Law has no switch.

    A number that is not given stays as it is; with None the rule's own holds again. A number asks
    more than the rule, never less.
    """
    if rule_id not in practice_ids():
        raise ValidationError(
            _("“%(rule)s” is not a rule of practice. Law cannot be switched off."),
            params={"rule": rule_id},
        )
    if isinstance(number, Decimal):
        _refuse_number(rule_id, number, member)
    row = PracticeSetting.objects.filter(yard=member.yard, rule_id=rule_id).first()
    row = row or PracticeSetting(yard=member.yard, rule_id=rule_id)
    row.setting = setting
    if number is not AS_IT_IS:
        row.number = number
    row.full_clean()
    row.save()
    audit_append(
        yard=member.yard,
        member=member,
        action="practice.set",
        subject=("practice", rule_id),
        values={"setting": setting, "number": _plain(row.number)},
    )
    return row


def _plain(number: Decimal | None) -> str:
    return "" if number is None else f"{number.normalize():f}"


def _refuse_number(rule_id: str, number: Decimal, member: Member) -> None:
    rules = {rule.id: rule for rule in all_rules()}
    today = local_day(timezone.now(), member.yard.time_zone)
    fault = number_faults(rules, {rule_id: Fraction(number)}, today).get(rule_id)
    if fault is not None:
        raise ValidationError({"number": text_words(fault)})
