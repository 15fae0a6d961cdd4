"""The interface for programs: who gets in, what is answered, and that the schema holds."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from django.test import Client
from django.urls import reverse
from drf_spectacular.generators import SchemaGenerator

from shop.models import ApiToken, Quote, Role
from shop.services import quotes
from shop.services.members import member_update
from shop.services.tokens import token_create, token_revoke
from tests.factories import make_member
from tests.shop.quoting import ISSUED, Shop
from tests.shop.views.pages import signed_in

EXAMPLE = Path(__file__).parents[2] / "fuelsys" / "examples" / "second-helping-found.json"
LISTS = ["api_boats", "api_quotes", "api_workorders", "api_documents", "api_lots"]


def post(client: Client, body: str | bytes, kind: str = "application/json", **query: str) -> Any:
    url = reverse("api_evaluations")
    if query:
        url += "?" + "&".join(f"{name}={value}" for name, value in query.items())
    return client.post(url, body, content_type=kind)


def test_a_document_is_evaluated_as_by_the_command(caller: Client) -> None:
    answer = post(caller, EXAMPLE.read_text(), on="2026-11-25")
    assert answer.status_code == 200
    body = answer.json()
    assert body["format"] == "evaluation/1"
    # 8.78 fl oz: the contract's hand-worked figure for S3 of Second Helping
    assert body["segments"][2]["discharge"]["volume_floz"] == pytest.approx(8.78, rel=0.005)


def test_every_problem_of_a_bad_document_is_listed(caller: Client) -> None:
    answer = post(caller, '{"format": "fuel-system/1", "boat": {"kind": "raft", "colour": 3}}')
    assert answer.status_code == 400
    assert answer.json()["format"] == "problems/1"
    assert {problem["path"] for problem in answer.json()["problems"]} >= {"boat.kind"}


def test_a_key_given_twice_is_seen_through_the_interface(caller: Client) -> None:
    answer = post(caller, '{"format": "fuel-system/1", "format": "fuel-system/1"}')
    assert answer.status_code == 400


def test_yaml_is_read_too(caller: Client) -> None:
    answer = post(caller, "format: fuel-system/1\nboat: {kind: motorboat}\n", "application/yaml")
    assert answer.status_code == 200


@pytest.mark.parametrize("body", [b"", b"\xff\xfe", b"[" * 50_000, b"1e999999"])
def test_nothing_sent_brings_it_down(body: bytes, caller: Client) -> None:
    assert post(caller, body).status_code == 400


def test_a_day_that_is_none_is_named(caller: Client) -> None:
    answer = post(caller, EXAMPLE.read_text(), on="tomorrow")
    assert answer.status_code == 400
    assert "tomorrow" in answer.json()["detail"]


def test_a_document_beyond_the_limit_is_refused(caller: Client) -> None:
    assert post(caller, b" " * 2_000_001).status_code == 400


@pytest.mark.parametrize("name", [*LISTS, "api_evaluations", "api_events"])
def test_nobody_unknown_gets_in(name: str, db: None) -> None:
    client = Client()
    url = reverse(name)
    answer = client.post(url) if name in ("api_evaluations", "api_events") else client.get(url)
    assert answer.status_code == 401
    assert "detail" in answer.json()


def test_a_session_of_the_pages_gets_in(shop: Shop) -> None:
    assert signed_in(shop.writer).get(reverse("api_boats")).status_code == 200


def test_a_session_needs_the_page_s_token_to_write(shop: Shop) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(shop.writer.user)
    assert post(client, EXAMPLE.read_text()).status_code == 403


@pytest.mark.parametrize("name", LISTS)
def test_lists_hold_what_belongs_to_the_yard(name: str, caller: Client, draft: Quote) -> None:
    answer = caller.get(reverse(name))
    assert answer.status_code == 200
    assert set(answer.json()) == {"count", "next", "previous", "results"}


def test_money_travels_as_text(caller: Client, draft: Quote) -> None:
    (quote,) = caller.get(reverse("api_quotes")).json()["results"]
    assert [option["total"] for option in quote["options"]] == ["1826.67", "2531.02"]


def test_a_state_comes_as_the_contract_s_document(caller: Client, shop: Shop) -> None:
    document = caller.get(reverse("api_state_document", args=[shop.proposed.pk])).json()
    assert document["format"] == "fuel-system/1"
    assert len(document["segments"]) == 7


@pytest.mark.parametrize(
    ("name", "pk"),
    [("api_boat", "hull"), ("api_quote", "quote"), ("api_state_document", "state")],
)
def test_another_yard_s_objects_are_absent(name: str, pk: str, draft: Quote, shop: Shop) -> None:
    stranger = make_member(role=Role.LEAD, username="stranger")
    _token, text = token_create(member=stranger, name="elsewhere")
    client = Client(headers={"authorization": f"Bearer {text}"})
    known = {"hull": shop.hull.pk, "quote": draft.pk, "state": shop.proposed.pk}
    foreign = client.get(reverse(name, args=[known[pk]]))
    absent = client.get(reverse(name, args=[999_999]))
    assert foreign.status_code == absent.status_code == 404
    assert foreign.json() == absent.json()


def test_a_role_without_the_act_is_refused(shop: Shop) -> None:
    _token, text = token_create(member=shop.members["dov"], name="tablet")
    client = Client(headers={"authorization": f"Bearer {text}"})
    assert client.get(reverse("api_quotes")).status_code == 403


def revoked(shop: Shop, token: ApiToken) -> None:
    token_revoke(member=shop.writer, token=token)


def expired(shop: Shop, token: ApiToken) -> None:
    ApiToken.objects.filter(pk=token.pk).update(
        expires_at=datetime.now(tz=UTC) - timedelta(seconds=1)
    )


def disabled(shop: Shop, token: ApiToken) -> None:
    member = shop.writer
    member_update(
        member=shop.lead, subject=member, name=member.user.name, email="", role=member.role,
        is_active=False,
    )  # fmt: skip


@pytest.mark.parametrize("end", [revoked, expired, disabled])
def test_an_ended_token_is_refused_on_the_very_next_call(end: Any, shop: Shop) -> None:
    token, text = token_create(member=shop.writer, name="stock program")
    client = Client(headers={"authorization": f"Bearer {text}"})
    assert client.get(reverse("api_boats")).status_code == 200
    end(shop, token)
    assert client.get(reverse("api_boats")).status_code == 401


def test_the_token_is_stored_nowhere_in_the_clear(shop: Shop) -> None:
    token, text = token_create(member=shop.writer, name="stock program")
    token.refresh_from_db()
    assert text not in json.dumps(
        {field.name: str(getattr(token, field.name)) for field in token._meta.fields}
    )


def test_guessing_tokens_is_slowed_down(db: None) -> None:
    client = Client(headers={"authorization": "Bearer hw_wrong"})
    answers = [client.get(reverse("api_boats")).status_code for _ in range(31)]
    assert answers == [401] * 30 + [429]


def test_an_unlisted_method_is_405(caller: Client) -> None:
    assert caller.delete(reverse("api_boats")).status_code == 405


def test_events_need_a_device_of_the_yard(shop: Shop) -> None:
    _token, text = token_create(member=shop.members["dov"], name="tablet")
    answer = Client(headers={"authorization": f"Bearer {text}"}).post(
        reverse("api_events"), {"device": 999_999, "events": []}, content_type="application/json"
    )
    assert answer.status_code == 404


def schema() -> dict[str, Any]:
    made: dict[str, Any] = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
    return made


def conform(answer: Any, name: str, **numbers: int) -> None:
    """The answer obeys what the schema says of its address and status."""
    described = schema()
    pattern = reverse(name, kwargs=numbers)
    for key, value in numbers.items():
        pattern = pattern.replace(f"/{value}/", f"/{{{key if key != 'pk' else 'id'}}}/", 1)
    responses = described["paths"][pattern]["get"]["responses"]
    shape = responses[str(answer.status_code)]["content"]["application/json"]["schema"]
    whole = {**shape, "components": described["components"]}
    jsonschema.validate(answer.json(), whole, format_checker=jsonschema.FormatChecker())


@pytest.mark.parametrize("name", LISTS)
def test_lists_obey_the_schema(name: str, caller: Client, draft: Quote, shop: Shop) -> None:
    quotes.quote_issue(member=shop.writer, quote=draft, at=ISSUED)
    conform(caller.get(reverse(name)), name)


def test_single_objects_obey_the_schema(caller: Client, draft: Quote, shop: Shop) -> None:
    document = quotes.quote_issue(member=shop.writer, quote=draft, at=ISSUED)
    for name, pk in (
        ("api_boat", shop.hull.pk), ("api_quote", draft.pk), ("api_document", document.pk),
    ):  # fmt: skip
        conform(caller.get(reverse(name, args=[pk])), name, pk=pk)
        conform(caller.get(reverse(name, args=[999_999])), name, pk=999_999)


def test_the_check_sees_an_answer_that_breaks_the_schema(caller: Client, draft: Quote) -> None:
    class Wrong:
        status_code = 200

        def json(self) -> dict[str, object]:
            return {"count": "many", "results": []}

    with pytest.raises(jsonschema.ValidationError):
        conform(Wrong(), "api_boats")


def test_members_of_the_yard_read_the_schema(caller: Client) -> None:
    answer = caller.get(reverse("api_schema"))
    assert answer.status_code == 200
