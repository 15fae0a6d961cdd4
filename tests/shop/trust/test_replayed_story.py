"""R04: each form that makes money, papers, mail or links counts once, however often it comes.

Sixteen at once with one key, then the same again and again, changed, by another person, to another
address, without a key. The list of addresses is read from the URL table.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from http.cookies import SimpleCookie

import pytest
from django.db import connection, transaction
from django.http import HttpResponse
from django.test import Client, RequestFactory
from django.urls import ResolverMatch, resolve, reverse

from shop.exceptions import Conflict
from shop.models import AuditEntry, Mail, Member
from shop.services.idempotency import Answer, idempotent_run
from shop.views import idempotent as idempotent_module
from tests.shop.quoting import make_shop
from tests.shop.services.racing import race
from tests.shop.trust.counts import count
from tests.shop.trust.report import measured, planted
from tests.shop.trust.story import STORY, Step, Tale, make_tale, written
from tests.shop.trust.test_replayed_work import FORMS
from tests.shop.trust.writing_urls import answers
from tests.shop.views.pages import send

pytestmark = [
    pytest.mark.trust,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("unsynced"),
]

AT_ONCE = 16
# Of each address; with the sixteen and the yard's over 5,000. The first twenty come as a page
# sends them, the others straight to the view and its key, without sign-in and session.
BY_PAGE, REPLAYS = 20, count(245, 1_000)

# What the audit log gains from one effect of each form, entries of papers apart.
EFFECTS = {
    "quote_issue": "quote.issue",
    "document_send": "mail.add",
    "consent_new": "consent.record",
    "work_paper": "document.issue",
    "changeorder_offer": "changeorder.offer",
    "changeorder_consent": "consent.record",
    "payment_new": "payment.record",
    "work_complete": "completion.sign",
    "addendum_new": "completion.addendum",
    "invoice_new": "invoice.issue",
    "invoice_send": "mail.add",
    "creditnote_new": "creditnote.issue",
    "payment_undo": "payment.reverse",
    "mail_again": "mail.again",
    "reminder_new": "mail.add",
    "document_again": "document.render",
    "ownerlink_renew": "ownerlink.rotate",
    "ownerlink_close": "ownerlink.revoke",
}
YARD = {sent.name for sent in FORMS} | {"work_cancel"}
# They have a key as well, and make neither money nor a paper, a mail or a link.
EVERYDAY = {
    "access_set", "choice_propose", "quote_discard", "segments_keep",
    "boat_edit", "boat_new", "boat_stop", "boat_stop_lift", "change_undo", "changeorder_edit",
    "changeorder_new", "component_keep", "component_propose", "customer_edit", "customer_new",
    "engine_edit", "engine_new", "facts_edit", "hours_edit", "measures_edit", "option_edit",
    "option_new", "option_remove", "override_new", "override_remove", "people_edit", "people_new",
    "people_password", "product_edit", "product_new", "proposal_new", "quote_edit", "quote_new",
    "quote_revise", "rate_new", "rule_set", "segment_keep", "segment_propose",
    "segment_seen",
    "survey_fuel_seen", "survey_new",
    "tax_new", "terms_edit", "token_end",
}  # fmt: skip
# No key, and why none is needed.
WITHOUT_KEY = {
    "account": "sets the password that was typed; twice is once",
    "api_evaluations": "stores nothing",
    "api_events": "an event's own id makes it count once",
    "login": "makes a session",
    "logout": "ends a session",
    "owner_answer": "the same answer by the same link counts once",
    "owner_change_answer": "the same answer by the same link counts once",
    "ownerlink_preview": "stores nothing",
    "theme": "sets a cookie",
    "token_list": "the token is shown once and stored nowhere; both are on the list",
}


def clients(tale: Tale, step: Step) -> list[Client]:
    """The same person in as many windows as there are requests at once."""
    first = tale.client(step.by)
    found = [Client() for _ in range(AT_ONCE)]
    for client in found:
        client.cookies = SimpleCookie(
            {name: morsel.value for name, morsel in first.cookies.items()}
        )
    return found


def effects(step: Step) -> int:
    return AuditEntry.objects.filter(action=EFFECTS[step.name]).count()


def sixteen_at_once(tale: Tale, step: Step, url: str, form: dict[str, object]) -> str:
    """One has the effect; the others are told its answer, or that it is still being done."""

    def sending(client: Client) -> Callable[[], HttpResponse]:
        return lambda: send(client, url, form, key=step.name)

    answered = race([sending(client) for client in clients(tale, step)])
    statuses = Counter(getattr(answer, "status_code", repr(answer)) for answer in answered)
    assert set(statuses) <= {302, 409}, (step.name, statuses)
    done = [a for a in answered if isinstance(a, HttpResponse) and a.status_code == 302]
    places = {answer["Location"] for answer in done}
    assert len(places) == 1, (step.name, places)
    return places.pop()


def direct(view: ResolverMatch, url: str, form: dict[str, object], member: Member) -> HttpResponse:
    """The form straight to its view, without sign-in and session."""
    request = RequestFactory().post(url, form)
    request.member = member  # type: ignore[attr-defined]
    answer = view.func(request, **view.kwargs)
    assert isinstance(answer, HttpResponse)
    return answer


def refused_otherwise(tale: Tale, step: Step, url: str, form: dict[str, object]) -> None:
    """The key opens nothing but the request it was given with."""
    client = tale.client(step.by)
    changed = send(client, url, {**form, "another": "1"}, key=step.name)
    elsewhere = send(client, reverse("customer_new"), {"name": "Test"}, key=step.name)
    assert (changed.status_code, elsewhere.status_code) == (422, 422), step.name
    assert client.put(url, form, headers={"Idempotency-Key": step.name}).status_code == 405
    assert client.post(url, form).status_code == 400
    other = "pia" if step.name in ("work_paper", "work_complete", "addendum_new") else "dov"
    assert send(tale.client(other), url, form, key=step.name).status_code == 403, step.name


def test_every_form_that_makes_something_makes_it_once() -> None:
    tale, second = make_tale(), Counter[str]()
    with measured("R04 forms", db=connection.vendor) as counted:
        for step in STORY:
            step.before(tale)
            url, form, before = step.url(tale), step.form(tale), effects(step)
            place = sixteen_at_once(tale, step, url, form)
            second[step.name] += effects(step) - before - 1
            client, done = tale.client(step.by), written()  # signing in is written down as well
            view, keyed = resolve(url), {**form, "idempotency_key": step.name}
            for number in range(REPLAYS):
                if number < BY_PAGE:
                    again = send(client, url, form, key=step.name)
                else:
                    again = direct(view, url, keyed, tale.shop.members[step.by])
                assert (again.status_code, again["Location"]) == (302, place), step.name
            second[step.name] += written() != done
            refused_otherwise(tale, step, url, form)
            second[step.name] += effects(step) - before - 1
        counted |= {
            "n": len(STORY) * (REPLAYS + AT_ONCE),
            "endpoints": f"{len(STORY)} of {len(EFFECTS)}", "at_once": AT_ONCE,
            "second_effects": sum(second.values()),
        }  # fmt: skip
        assert not any(second.values()), second


def test_every_address_that_takes_a_form_is_in_one_of_the_lists() -> None:
    found = answers(make_shop().lead)
    assert EFFECTS.keys() == {step.name for step in STORY}
    api = {name for name, status in found.items() if name.startswith("api_") and status != 405}
    keyed = {name for name, status in found.items() if status == 400} - api
    takes = api | {name for name, status in found.items() if status != 405}
    assert sorted(keyed ^ (EFFECTS.keys() | YARD | EVERYDAY & found.keys())) == []
    assert sorted((takes - keyed) ^ WITHOUT_KEY.keys()) == []
    assert not YARD & EVERYDAY


def test_the_first_still_running_is_said() -> None:
    """On PostgreSQL at once, 409; on SQLite the second waits its turn and gets the answer."""
    member = make_shop().lead
    inner: list[object] = []

    def run(effect: Callable[[], Answer]) -> Answer:
        return idempotent_run(
            member=member, key="k", method="POST", path="/", body_sha256="0" * 64, effect=effect
        )

    def slow() -> Answer:
        if connection.vendor == "postgresql":
            inner.extend(race([lambda: run(lambda: Answer(302, "/second/"))]))
        return Answer(302, "/first/")

    assert run(slow).location == "/first/"
    if connection.vendor == "postgresql":
        assert [type(found) for found in inner] == [Conflict]
    assert run(lambda: Answer(302, "/third/")).location == "/first/"


class Crash(Exception):
    """The process ends between the commit and the cache."""


@planted("R04 forms", "key outside the transaction")
def test_a_key_kept_in_a_cache_outside_the_transaction_is_found(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The planted fault: the effect is committed, and only then is its key remembered."""
    cache: dict[str, Answer] = {}
    crashes = iter([True])

    def cached_run(*, key: str, effect: Callable[[], Answer], **_: object) -> Answer:
        if key in cache:
            return cache[key]
        with transaction.atomic():
            answer = effect()
        if next(crashes, False):
            raise Crash
        return cache.setdefault(key, answer)

    tale = make_tale()
    issue, tell = STORY[:2]
    send(tale.client(issue.by), issue.url(tale), issue.form(tale))
    monkeypatch.setattr(idempotent_module, "idempotent_run", cached_run)
    before = effects(tell)
    with pytest.raises(Crash):
        send(tale.client(tell.by), tell.url(tale), {}, key="once")
    send(tale.client(tell.by), tell.url(tale), {}, key="once")
    assert effects(tell) - before - 1 == 1
    assert Mail.objects.count() == 2
