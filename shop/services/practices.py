from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from fuelsys.rules.engine import practice_ids
from shop.models import Member, PracticeSetting
from shop.services.audit import audit_append


@transaction.atomic
def practice_set(*, member: Member, rule_id: str, setting: str) -> PracticeSetting:
    """Set how the yard takes one rule of practice. Law has no switch."""
    if rule_id not in practice_ids():
        raise ValidationError(
            _("“%(rule)s” is not a rule of practice. Law cannot be switched off."),
            params={"rule": rule_id},
        )
    row = PracticeSetting.objects.filter(yard=member.yard, rule_id=rule_id).first()
    row = row or PracticeSetting(yard=member.yard, rule_id=rule_id)
    row.setting = setting
    row.full_clean()
    row.save()
    audit_append(
        yard=member.yard,
        member=member,
        action="practice.set",
        subject=("practice", rule_id),
        values={"setting": setting},
    )
    return row
