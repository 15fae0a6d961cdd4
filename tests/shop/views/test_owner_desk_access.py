"""Who at the desk may do what with the owner's decisions, mails and links."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import AuditEntry, ChangeOrder, Consent, Member, OwnerLink, Role
from shop.services.changeorders import changeorder_offer
from shop.services.mails import document_send
from tests.factories import make_member
from tests.shop.owning import Small, authorized, make_small
from tests.shop.views.desk_changes import begun
from tests.shop.views.pages import send, signed_in

Place = tuple[str, str]
PLACES: list[Place] = [
    ("consent_new", "quote"), ("changeorder_new", "order"), ("changeorder_detail", "change"),
    ("changeorder_edit", "change"), ("changeorder_offer", "change"),
    ("changeorder_consent", "change"), ("ownerlink_preview", "job"), ("ownerlink_close", "job"),
    ("ownerlink_renew", "job"), ("reminder_new", "job"), ("mail_again", "mail"),
    ("document_send", "document"), ("mail_list", ""), ("reminder_list", ""),
]  # fmt: skip
READING = {"changeorder_detail", "mail_list", "reminder_list"}
POST_ONLY = {
    "changeorder_offer", "ownerlink_preview", "ownerlink_close", "ownerlink_renew",
    "reminder_new", "mail_again", "document_send",
}  # fmt: skip
# The bookkeeper sends mail and takes no decision; the technician is shown no money.
MAY = {
    Role.BOOKKEEPER: {
        "changeorder_detail", "mail_list", "reminder_list", "reminder_new", "mail_again",
        "document_send",
    },
    Role.TECHNICIAN: set(),
}  # fmt: skip


@pytest.fixture
def desk(small: Small) -> Client:
    return signed_in(small.writer)


@pytest.fixture
def places(small: Small) -> dict[str, int]:
    order = authorized(small)
    begun(signed_in(small.writer), small)
    change = ChangeOrder.objects.get()
    changeorder_offer(member=small.writer, change_order=change)
    mail = document_send(member=small.writer, document=small.document)
    return {
        "quote": small.quote.pk,
        "order": order.pk,
        "change": change.pk,
        "job": small.job.pk,
        "mail": mail.pk,
        "document": small.document.pk,
    }


def asked(client: Client, name: str, kind: str, places: dict[str, int]) -> int:
    path = reverse(name, args=[places[kind]] if kind else [])
    answer = client.get(path) if name in READING else send(client, path, {})
    return answer.status_code


def test_another_yard_finds_nothing_and_it_is_logged(places: dict[str, int]) -> None:
    stranger = make_member(make_small("Other Yard").yard, Role.LEAD, "stranger")
    client = signed_in(stranger)
    scoped = [place for place in PLACES if place[1]]
    found = {name: asked(client, name, kind, places) for name, kind in scoped}
    assert set(found.values()) == {404}
    assert AuditEntry.objects.filter(action="access.foreign").count() == len(scoped)
    assert Consent.objects.count() == 1
    assert OwnerLink.objects.get(job=places["job"]).revoked_at is None


@pytest.mark.parametrize("role", MAY)
def test_each_role_does_what_is_its_own(places: dict[str, int], small: Small, role: Role) -> None:
    client = signed_in(make_member(small.yard, role, "other"))
    refused = {name for name, kind in PLACES if asked(client, name, kind, places) == 403}
    assert refused == {name for name, _kind in PLACES} - MAY[role]
    assert AuditEntry.objects.filter(action="access.denied").count() == len(refused)


def test_nobody_unknown_gets_in(places: dict[str, int]) -> None:
    found = {asked(Client(), name, kind, places) for name, kind in PLACES}
    assert found == {302}


def test_looking_never_acts(places: dict[str, int], small: Small) -> None:
    client = signed_in(small.writer)
    for name, kind in PLACES:
        if name in POST_ONLY:
            assert client.get(reverse(name, args=[places[kind]])).status_code == 405
        elif name in READING:
            path = reverse(name, args=[places[kind]] if kind else [])
            assert client.post(path).status_code == 405


def test_absent_and_foreign_answer_alike(desk: Client, small: Small) -> None:
    other = make_small("Other Yard")
    absent = desk.get(reverse("consent_new", args=[999_999]))
    foreign = desk.get(reverse("consent_new", args=[other.quote.pk]))
    assert absent.status_code == foreign.status_code == 404


def test_every_act_leaves_its_entry(desk: Client, small: Small, places: dict[str, int]) -> None:
    send(desk, reverse("ownerlink_close", args=[small.job.pk]), {})
    send(desk, reverse("ownerlink_renew", args=[small.job.pk]), {})
    send(desk, reverse("reminder_new", args=[small.job.pk]), {})
    send(desk, reverse("mail_again", args=[places["mail"]]), {})
    actions = set(AuditEntry.objects.values_list("action", flat=True))
    assert actions >= {
        "consent.record", "workorder.open", "changeorder.start", "changeorder.offer", "mail.add",
        "mail.again", "ownerlink.revoke", "ownerlink.rotate", "document.issue",
    }  # fmt: skip


def test_a_lead_may_all_of_it(places: dict[str, int], small: Small) -> None:
    lead: Member = small.lead
    client = signed_in(lead)
    assert 403 not in {asked(client, name, kind, places) for name, kind in PLACES}
