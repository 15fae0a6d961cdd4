"""R15: what every public answer says of itself, whatever its status; and that looking is free."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.urls import URLResolver, get_resolver, reverse
from django.utils import timezone

from shop import middleware
from shop.files import file_keep
from shop.limits import LINK_ADDRESS, LINK_ANSWER, SIGN_IN_ACCOUNT
from shop.models import Document
from shop.services.changeorders import Added, AddedWork, changeorder_offer, changeorder_start
from shop.services.ownerlinks import ownerlink_token
from shop.views import owner
from tests.shop.owning import Small, authorized
from tests.shop.trust.everywhere import database_text
from tests.shop.trust.report import measured

pytestmark = [pytest.mark.trust, pytest.mark.django_db]

VARYING = re.compile(r"<[^>]+>")
WANTED: dict[str, Callable[[str], bool]] = {
    "Referrer-Policy": lambda value: value == "no-referrer",
    "Cache-Control": lambda value: "no-store" in value,
    "X-Robots-Tag": lambda value: value == "noindex, nofollow, noarchive",
    "Content-Security-Policy": lambda value: value.startswith("default-src 'none'"),
    "X-Content-Type-Options": lambda value: value == "nosniff",
}


def public_paths() -> dict[str, str]:
    """Every address that asks for no sign-in by itself, by its name, with 1 for what varies."""
    return {name: VARYING.sub("1", path) for name, path in _public(get_resolver(), "/")}


def _public(resolver: URLResolver, before: str) -> Iterator[tuple[str, str]]:
    for pattern in resolver.url_patterns:
        path = before + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            yield from _public(pattern, path)
        elif not getattr(pattern.callback, "login_required", True):
            yield pattern.name or path, path


def opened(small: Small, **options: Any) -> Client:
    client = Client(raise_request_exception=False, **options)
    client.get(f"/o/{ownerlink_token(small.link).reveal()}/")
    return client


Answers = Iterator[tuple[str, Any]]


def of_the_link(small: Small, monkeypatch: pytest.MonkeyPatch) -> Answers:
    path = f"/o/{ownerlink_token(small.link).reveal()}/"
    stranger = Client(raise_request_exception=False)
    yield "owner_open 303", stranger.get(path)
    yield "owner_open 404", stranger.get("/o/wrong/")
    yield "owner_open 405", stranger.post(path)
    with monkeypatch.context() as patch:
        patch.setattr(owner, "ownerlink_open", broken)
        yield "owner_open 500", stranger.get(path)
    for _ in range(LINK_ADDRESS.most):
        stranger.get("/o/wrong/", REMOTE_ADDR="192.0.2.50")
    yield "owner_open 429", stranger.get(path, REMOTE_ADDR="192.0.2.50")
    yield "owner_nothing 404", stranger.get("/o/no/such/page/")


def of_the_page(small: Small, monkeypatch: pytest.MonkeyPatch) -> Answers:
    client = opened(small)
    yield "owner_home 200", client.get(reverse("owner_home"))
    yield "owner_home 404", Client().get(reverse("owner_home"))
    yield "owner_home 405", client.post(reverse("owner_home"))
    with monkeypatch.context() as patch:
        patch.setattr(owner, "owner_page", broken)
        yield "owner_home 500", client.get(reverse("owner_home"))
    kept = file_keep(settings.FILES_DIR, b"%PDF-1.7 test")
    Document.objects.update(pdf_sha256=kept.sha256, pdf_size=kept.size)
    paper = reverse("owner_paper", args=[small.document.public_id])
    yield "owner_paper 200", client.get(paper)
    yield "owner_paper 404", Client().get(paper)
    yield "owner_paper 405", client.post(paper)


def of_answers(small: Small) -> Answers:
    path = reverse("owner_answer")
    client = opened(small)
    good = {"choice": "A", "name": "Ada", "shown": small.document.snapshot_sha256}
    yield "owner_answer 403", opened(small, enforce_csrf_checks=True).post(path, good)
    yield "owner_answer 404", Client().post(path, good)
    yield "owner_answer 405", client.get(path)
    yield "owner_answer 409", client.post(path, {**good, "shown": "0" * 64})
    yield "owner_answer 422", client.post(path, {**good, "name": ""})
    yield "owner_answer 303", client.post(path, good)
    yield from of_changes(small, client)


def of_changes(small: Small, client: Client) -> Answers:
    order = small.job.work_orders.get()
    added = Added("Found.", work=[AddedWork("Work", Decimal("1.00"))])
    change = changeorder_start(member=small.writer, work_order=order, added=added)
    document = changeorder_offer(member=small.writer, change_order=change)
    path = reverse("owner_change_answer", args=[1])
    good = {"choice": "yes", "name": "Ada", "shown": document.snapshot_sha256}
    yield "owner_change_answer 403", opened(small, enforce_csrf_checks=True).post(path, good)
    yield "owner_change_answer 404", Client().post(path, good)
    yield "owner_change_answer 405", client.get(path)
    yield "owner_change_answer 409", client.post(path, {**good, "shown": "0" * 64})
    yield "owner_change_answer 422", client.post(path, {**good, "name": ""})
    yield "owner_change_answer 303", client.post(path, good)
    for _ in range(LINK_ANSWER.most):
        client.post(path, {**good, "name": ""})
    yield "owner_change_answer 429", client.post(path, good)


def of_the_door(small: Small) -> Answers:
    client, path = Client(), reverse("login")
    wrong = {"username": "nobody", "password": "wrong"}
    yield "login 200", client.get(path)
    yield "login 405", client.delete(path)
    yield "login 403", Client(enforce_csrf_checks=True).post(path, wrong)
    for _ in range(SIGN_IN_ACCOUNT.most):
        client.post(path, wrong)
    yield "login 429", client.post(path, wrong)
    for name in ("logout", "theme"):
        yield f"{name} 405", client.get(reverse(name))
        yield f"{name} 302", client.post(reverse(name))
        yield f"{name} 403", Client(enforce_csrf_checks=True).post(reverse(name))
    yield "health 200", client.get(reverse("health"))
    yield "no such page 404", client.get("/no-such-page/")
    yield "no such host 400", client.get("/o/", headers={"host": "elsewhere.invalid"})
    yield "behind the door 302", client.get(reverse("boat_list"))


def of_all_others(known: set[str]) -> Answers:
    """Public addresses that have no row of their own yet: whatever they answer."""
    for name, path in sorted(public_paths().items()):
        if name not in known:
            client = Client(raise_request_exception=False)
            yield name, client.get(path)
            yield name, client.post(path)


def broken(*args: object, **kwargs: object) -> Any:
    raise RuntimeError("planted")


def missing(answer: Any) -> list[str]:
    return [name for name, fits in WANTED.items() if not fits(answer.headers.get(name, ""))]


def test_every_public_answer_of_every_status(small: Small, monkeypatch: pytest.MonkeyPatch) -> None:
    with measured("R15 headers", db=connection.vendor) as counted:
        answers = [
            *of_the_link(small, monkeypatch),
            *of_the_page(small, monkeypatch),
            *of_answers(small),
            *of_the_door(small),
        ]
        wrong = [name for name, a in answers if name[-3:] != str(a.status_code)]
        assert wrong == []
        listed = {name.split()[0] for name, _answer in answers}
        answers += of_all_others(listed)
        faults = {name: missing(a) for name, a in answers if missing(a)}
        counted |= {"n": len(answers), "statuses": sorted({a.status_code for _n, a in answers})}
        counted["missing"] = len(faults)
        monkeypatch.setattr(middleware, "PUBLIC_HEADERS", {"Referrer-Policy": "no-referrer"})
        planted = missing(Client().get(reverse("login")))
        assert planted == ["X-Robots-Tag"]
        counted["twin"] = "a header left out: found"
        assert faults == {}


def test_no_third_party_is_asked_and_no_host_is_believed(small: Small) -> None:
    text = opened(small).get(reverse("owner_home")).content.decode()
    assert "http://" not in text.replace("http://www.w3.org/2000/svg", "")
    assert "https://" not in text
    assert "<script" not in text


def test_looking_changes_nothing(small: Small) -> None:
    """GET, HEAD and OPTIONS on every public address; the log of openings and the counters aside."""
    with measured("R15 looking", db=connection.vendor) as counted:
        authorized(small)
        client = opened(small)
        token = ownerlink_token(small.link).reveal()
        paths = [reverse(name) for name in ("owner_home", "owner_answer", "login", "health")]
        paths += [f"/o/{token}/", reverse("owner_change_answer", args=[1]), "/o/x/y/"]
        paths += [reverse("owner_paper", args=[small.document.public_id])]
        before = kept()
        asked = 0
        for path in paths:
            for method in ("get", "head", "options"):
                getattr(client, method)(path)
                asked += 1
        changed = kept() != before
        small.link.__class__.objects.update(revoked_at=timezone.now())
        assert kept() != before
        counted |= {"n": asked, "changed": int(changed), "twin": "a changed row: found"}
        assert not changed


def kept() -> list[str]:
    aside = ("shop_linkview ", "shop_counter ", "django_session ")
    return [row for row in database_text().splitlines() if not row.startswith(aside)]
