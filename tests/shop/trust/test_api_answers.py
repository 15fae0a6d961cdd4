"""R21: each address of the interface for programs, each status that its schema names, asked for.

An answer may hold nothing that its schema does not describe; a list must hold something to look
at; a path whose answers nobody asked for fails.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import jsonschema
import pytest
from django.db import connection
from django.test import Client
from django.urls import resolve, reverse
from drf_spectacular.generators import SchemaGenerator

from shop.api import serializers as shapes
from shop.limits import API_MEMBER, limit_take
from shop.models import Counter, Document, Member
from shop.services.events import desk_device
from tests.factories import tiny_document
from tests.shop.trust import matrix
from tests.shop.trust.asking import Asker, undone
from tests.shop.trust.housing import ABSENT
from tests.shop.trust.matrix import Row
from tests.shop.trust.report import measured, planted

pytestmark = [pytest.mark.trust, pytest.mark.django_db]

ROLES = ("disabled", "token_of_disabled", "token_of_technician", "token_of_bookkeeper")
BEYOND = "?page=999"
Told = tuple[str, str, int]  # path of the schema, method, status
# What must hold something, or its shape was not looked at.
FULL = {
    "results", "segments", "reels", "options", "states", "findings", "scope", "problems", "authors",
}  # fmt: skip


@dataclass
class Walk:
    """What was asked, and what was not as it is described."""

    described: dict[str, Any]
    visited: set[Told] = field(default_factory=set)
    seen_full: set[str] = field(default_factory=set)
    seen: set[str] = field(default_factory=set)
    faults: list[str] = field(default_factory=list)
    asked: int = 0

    def look(self, path: str, method: str, answer: Any) -> None:
        self.asked += 1
        told = (path, method, answer.status_code)
        name = f"{method} {path} {answer.status_code}"
        responses = self.described["paths"][path][method]["responses"]
        contents = responses.get(str(answer.status_code), {}).get("content", {})
        kind = answer.headers["Content-Type"].partition(";")[0]
        if kind not in contents:
            self.faults.append(f"{name}: {kind} is not described")
            return
        self.visited.add(told)
        if kind == "application/json":
            self._fits(name, contents[kind]["schema"], answer.json())
        elif not answer.content.startswith(b"%PDF-"):
            self.faults.append(f"{name}: is no PDF")

    def _fits(self, name: str, shape: Any, body: Any) -> None:
        whole = {**closed(shape), "components": closed(self.described["components"])}
        checker = jsonschema.Draft202012Validator(whole, format_checker=jsonschema.FormatChecker())
        self.faults += [f"{name}: {error.message[:300]}" for error in checker.iter_errors(body)]
        for key, inner in lists(body):
            self.seen.add(key)
            if inner:
                self.seen_full.add(key)

    def unvisited(self) -> set[Told]:
        return {
            (path, method, int(status))
            for path, acts in self.described["paths"].items()
            for method, act in acts.items()
            for status in act["responses"]
        } - self.visited


def closed(shape: Any) -> Any:
    """The same schema, in which an object holds what is described and nothing else."""
    if isinstance(shape, list):
        return [closed(inner) for inner in shape]
    if not isinstance(shape, dict):
        return shape
    found = {key: closed(inner) for key, inner in shape.items()}
    if shape.get("type") == "object" and isinstance(shape.get("properties"), dict):
        found.setdefault("additionalProperties", False)
    return found


def lists(value: Any) -> Iterator[tuple[str, list[Any]]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            if isinstance(inner, list) and key in FULL:
                yield key, inner
            yield from lists(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from lists(inner)


def schema() -> dict[str, Any]:
    made: dict[str, Any] = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
    return made


def rows_of(described: dict[str, Any]) -> dict[str, Row]:
    """The line of the table of rights for each path of the schema."""
    table = {row.name: row for row in matrix.rows() if row.area == "api"}
    return {path: table[str(resolve(path.replace("{id}", "1")).url_name)] for path in described}


def used_up(member: Member) -> None:
    """All the calls of this minute, and of the next if it begins meanwhile, are made."""
    Counter.objects.all().delete()
    assert limit_take(API_MEMBER, str(member.pk)).allowed
    Counter.objects.update(count=10 * API_MEMBER.most)


class Asking:
    """Every address as everybody who is told something else by it."""

    def __init__(self, asker: Asker, walk: Walk) -> None:
        self.asker, self.walk = asker, walk
        self.lead = asker.client("token_of_lead")
        self.desk = desk_device(asker.house.yard).pk
        for role in ROLES:  # signed in before anything is undone
            asker.client(role)

    def all(self) -> None:
        for path, row in rows_of(self.walk.described["paths"]).items():
            for method in self.walk.described["paths"][path]:
                with undone():
                    self.path(path, row, method)

    def path(self, path: str, row: Row, method: str) -> None:
        url = self.asker.url(row, "lead", "own")
        form = self.asker.form(row)
        self.ask(path, method, self.lead, url, form)
        self.ask(path, method, Client(), url, form)
        for role in ROLES:
            self.ask(path, method, self.asker.client(role), url, form)
        if "{id}" in path:
            self.ask(path, method, self.lead, self.asker.url(row, "lead", "absent"), form)
        elif method == "get":
            self.ask(path, method, self.lead, url + BEYOND, form)
        self.special(path, method, url, row.name)
        with undone():
            used_up(self.asker.house.people["lead"])
            self.ask(path, method, self.lead, url, form)

    def special(self, path: str, method: str, url: str, name: str) -> None:
        """What only one address can answer."""
        if name == "api_evaluations":
            house_document = self.lead.get(
                reverse("api_state_document", args=self.asker.house.args["found"])
            ).json()
            for sent in (house_document, {"format": "fuel-system/1", "boat": {"kind": "raft"}}):
                self.ask(path, method, self.lead, f"{url}?curves=1", sent)
            self.ask(path, method, self.lead, f"{url}?on=tomorrow", tiny_document())
        elif name == "api_events":
            tablet = self.asker.house.things["tablet"]
            for device in ("x", ABSENT, self.desk):
                self.ask(path, method, self.lead, url, {"device": device, "events": []})
            batch = {"device": tablet, "events": ["x", note(self.asker)]}
            self.ask(path, method, self.lead, url, batch)
        elif name == "api_workorder":
            for named in ("worked", "finished", "fresh"):
                shown = reverse(name, args=self.asker.house.args[named])
                self.ask(path, method, self.lead, shown, {})
        elif name == "api_document_pdf":
            papers = Document.objects.filter(yard=self.asker.house.yard)
            unmade = papers.filter(pdf_sha256="").earliest("pk")
            self.ask(path, method, self.lead, reverse(name, args=[unmade.pk]), {})

    def ask(self, path: str, method: str, client: Client, url: str, sent: object) -> None:
        with undone():
            if method == "get":
                answer = client.get(url)
            else:
                answer = getattr(client, method)(url, json.dumps(sent), "application/json")
        self.walk.look(path, method, answer)


def note(asker: Asker) -> dict[str, Any]:
    house = asker.house
    return {
        "id": "ef" * 16, "seq": 7, "work_order": house.things["open"].pk, "kind": "note",
        "segment": "S1", "author": house.people["lead"].pk,
        "claimed_at": "2026-10-20T14:25:00+00:00", "payload": {}, "text": "Test.",
    }  # fmt: skip


def walked(asker: Asker) -> Walk:
    walk = Walk(schema())
    Asking(asker, walk).all()
    return walk


def test_every_answer_of_every_path_obeys_the_schema(asker: Asker) -> None:
    with measured("R21-answers", db=connection.vendor) as counted:
        walk = walked(asker)
        counted.update(n=walk.asked, statuses=len(walk.visited), faults=len(walk.faults))
        assert "\n".join(walk.faults) == ""
        assert walk.unvisited() == set()
        assert walk.seen_full == FULL


@planted("R21-answers", "a field of another kind, one undescribed, one missing, a path unasked")
def test_twin_answers_that_break_the_schema_are_found(
    asker: Asker, monkeypatch: pytest.MonkeyPatch
) -> None:
    described = schema()
    (path,) = (path for path, row in rows_of(described["paths"]).items() if row.name == "api_lot")
    url = reverse("api_lot", args=asker.house.args["lot"])
    client = asker.client("token_of_lead")
    whole = shapes.LotShape.to_representation

    def with_more(self: Any, row: Any) -> Any:
        return {**whole(self, row), "cost": "1.00"}

    def with_less(self: Any, row: Any) -> Any:
        return {key: value for key, value in whole(self, row).items() if key != "sku"}

    for name, fault in (
        ("LotShape.to_representation", with_more),
        ("LotShape.to_representation", with_less),
        ("ReelShape.get_left_in", lambda self, row: 7),
    ):
        with monkeypatch.context() as patch:
            patch.setattr(f"shop.api.serializers.{name}", fault)
            walk = Walk(described)
            walk.look(path, "get", client.get(url))
        assert walk.faults, fault
    walk = Walk(described)
    walk.look(path, "get", client.get(url))
    assert walk.faults == []
    assert (path, "get", 404) in walk.unvisited()
