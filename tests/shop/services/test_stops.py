from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from shop.exceptions import Refused
from shop.models import AuditEntry, DoNotRun
from shop.services.stops import stop_lift, stop_set
from tests.factories import make_hull, make_member, make_yard

pytestmark = pytest.mark.django_db


def test_a_boat_is_marked_once_and_lifted_with_a_reason() -> None:
    lead = make_member()
    hull = make_hull(lead.yard)
    stop_set(hull=hull, reason=" Fuel in the bilge ", member=lead)
    with pytest.raises(Refused, match="marked already"):
        stop_set(hull=hull, reason="Again", member=lead)
    for nothing in (" ", ".", "\u2060"):
        with pytest.raises(Refused, match="Say what was mended"):
            stop_lift(hull=hull, reason=nothing, member=lead)
    stop = stop_lift(hull=hull, reason="Leak closed and tested", member=lead)
    assert (stop.reason, stop.lifted_reason) == ("Fuel in the bilge", "Leak closed and tested")
    with pytest.raises(Refused, match="not marked any more"):
        stop_lift(hull=hull, reason="Twice", member=lead)
    actions = AuditEntry.objects.filter(subject_kind="hull").values_list("action", flat=True)
    assert list(actions.order_by("seq")) == ["hull.stop", "hull.stop_lift"]
    assert "bilge" not in str(list(AuditEntry.objects.values_list("fields", flat=True)))


def test_a_reason_is_needed() -> None:
    lead = make_member(make_yard())
    hull = make_hull(lead.yard)
    with pytest.raises(ValidationError):
        stop_set(hull=hull, reason="  ", member=lead)
    assert not DoNotRun.objects.exists()
