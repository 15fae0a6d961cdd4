"""Asks the cells of the table of rights, each by itself, and writes down what is not as it says."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from http.cookies import SimpleCookie
from typing import Any

from django.db import connection, transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from shop.models import AuditEntry
from shop.services.ownerlinks import ownerlink_token
from shop.services.tokens import token_create
from shop.views.visits import visit_begin
from tests.shop.trust import matrix
from tests.shop.trust.fields import (
    Forged,
    figures,
    held,
    never_seen,
    never_written,
    role_of,
    shown,
)
from tests.shop.trust.forms import drawn, typed
from tests.shop.trust.housing import House, absent
from tests.shop.trust.matrix import Cell, Row

# What differs between two answers to the same question: tokens against forged forms, keys, and
# the address itself, which the page's own form repeats.
VARYING = re.compile(
    r'(name="csrfmiddlewaretoken" value|name="idempotency_key" value|X-CSRFToken&quot;: &quot;'
    r'|"X-CSRFToken": ")[^>}]*'
)


# What every answer says of itself. Source: OWASP ASVS 5.0.0, V3.4.
WANTED: dict[str, Callable[[str], bool]] = {
    "Content-Security-Policy": lambda value: value.startswith("default-src 'none'"),
    "X-Content-Type-Options": lambda value: value == "nosniff",
    "Referrer-Policy": lambda value: value in ("same-origin", "no-referrer"),
    "Cache-Control": lambda value: "no-store" in value,
    "X-Frame-Options": lambda value: value == "DENY",
    "Cross-Origin-Opener-Policy": lambda value: value == "same-origin",
}


def missing(answer: Any) -> list[str]:
    """Headers that an answer lacks."""
    return [name for name, fits in WANTED.items() if not fits(answer.headers.get(name, ""))]


@dataclass
class Asker:
    """Asks every cell on one house; what a cell does is undone after it."""

    house: House
    clients: dict[str, Client] = field(default_factory=dict)
    forms: dict[str, dict[str, Any]] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)
    statuses: Counter[int] = field(default_factory=Counter)
    asked: int = 0
    denied: int = 0

    def client(self, role: str, *, elsewhere: bool = False) -> Client:
        """A client's cookies are given back to it after each cell."""
        name = f"{role} elsewhere" if elsewhere else role
        if name not in self.clients:
            self.clients[name] = self._made(role, elsewhere)
        return self.clients[name]

    def _made(self, role: str, elsewhere: bool) -> Client:
        people = self.house.strangers if elsewhere else self.house.people
        if role in people:
            client = Client(raise_request_exception=False)
            client.force_login(people[role].user)
            return client
        if role in self.house.tokens:
            text = self.house.tokens[role]
            if elsewhere:
                text = self.house.things[f"{role} elsewhere"]
            return Client(
                raise_request_exception=False, headers={"authorization": f"Bearer {text}"}
            )
        client = Client(raise_request_exception=False)
        if role in self.house.visits:
            opened = HttpResponse()
            visit_begin(opened, self.house.visits[role])
            client.cookies.update(opened.cookies)
        return client

    def url(self, row: Row, role: str, target: str) -> str:
        if row.of == "token_of_link":
            return self._link_url(role, target)
        given = row.given
        if given == "token":
            given = f"token of {role if role in matrix.MEMBERS else 'lead'}"
        args = self.house.args[given]
        if target == "absent":
            args = absent(args)
        elif target == "other" and given in self.house.foreign:
            args = self.house.foreign[given]
        return reverse(row.name, args=args)

    def _link_url(self, role: str, target: str) -> str:
        link = self.house.visits.get(role)
        if link is None or target != "own":
            return "/o/no-such-link/"
        return f"/o/{ownerlink_token(link).reveal()}/"

    def form(self, row: Row) -> dict[str, Any]:
        """The valid form of an address, once for everybody: drawn by the lead's page."""
        if row.name not in self.forms:
            found: dict[str, Any] = {}
            if "GET" in row.methods and row.area == "page":
                found = drawn(self.client("lead"), self.url(row, "lead", "own"))
            self.forms[row.name] = found | typed(self.house, row.name)
        return dict(self.forms[row.name])

    def _client_of(self, cell: Cell) -> Client:
        elsewhere = cell.target == "other" and cell.row.area != "owner"
        return self.client(cell.role, elsewhere=elsewhere)

    def prepare(self, cell: Cell) -> None:
        """What asking needs, outside of what is undone: the form, and who asks, signed in."""
        self.form(cell.row)
        self._client_of(cell)

    def ask(self, cell: Cell, target: str = "", *, more: dict[str, Any] | None = None) -> Any:
        client = self._client_of(cell)
        url = self.url(cell.row, cell.role, target or cell.target)
        method = cell.method.lower()
        cookies = SimpleCookie(client.cookies)
        try:
            if cell.method == "GET":
                return client.get(url)
            sent = {**(more or {}), **self.form(cell.row)}
            if cell.row.area == "api":
                return getattr(client, method)(url, json.dumps(sent), "application/json")
            if cell.method != "POST":
                return getattr(client, method)(url)
            return client.post(url, {**sent, "idempotency_key": "key"})
        finally:
            client.cookies = cookies

    def cell(self, cell: Cell) -> None:
        """One cell: its status, its record where it is a refusal, what it must not touch."""
        self.prepare(cell)
        with undone():
            last = newest_entry()
            forged = self.forged(cell)
            answer = self.ask(cell, more={each.name: each.sent for each in forged})
            self.asked += 1
            self.statuses[answer.status_code] += 1
            self.faults += [f"{cell}: no {name}" for name in missing(answer)]
            if answer.status_code != cell.status:
                said = f"{answer.status_code}, not {cell.status}"
                self.faults.append(f"{cell}: {said} {why(answer)}")
                return
            self._recorded(cell, last)
            if cell.target == "own" and answer.status_code < 400:
                self._fields(cell, answer, forged)
        if cell.target == "other" and cell.status == 404 and cell.row.area != "owner":
            self._alike(cell, answer)

    def _recorded(self, cell: Cell, last: int) -> None:
        """A refusal by role, by yard, by a shut membership or a dead token is in the log."""
        by_role = cell.status == 403
        by_yard = cell.status == 404 and cell.target == "other"
        if not (by_role or by_yard):
            return
        self.denied += 1
        if newest_entry() == last:
            self.faults.append(f"{cell}: refused without a record")

    def _alike(self, cell: Cell, answer: Any) -> None:
        """What is another yard's answers as what is not there, to the letter."""
        with undone():
            nothing = self.ask(cell, "absent")
        here = plain(answer, self.url(cell.row, cell.role, "own"))
        there = plain(nothing, self.url(cell.row, cell.role, "absent"))
        if (answer.status_code, here) != (nothing.status_code, there):
            self.faults.append(f"{cell}: answers unlike one that is absent")

    def _fields(self, cell: Cell, answer: Any, forged: list[Forged]) -> None:
        if forged:
            before, after = self.house.things["forged before"], held(forged)
            changed = [name for name, rows in after.items() if rows != before[name]]
            self.faults += [
                f"{cell}: changed {name} through no field of its form" for name in changed
            ]
        if cell.method == "GET" and cell.row.area in ("page", "api"):
            seen = self.house.things["never seen"].get(role_of(cell.role), {})
            for figure in shown(text(answer), seen):
                self.faults.append(f"{cell}: shows {figure}, {sorted(seen[figure])}")

    def forged(self, cell: Cell) -> list[Forged]:
        """What a form of the role is sent with beside its own fields."""
        strict = cell.row.name in REFUSES_STRANGE_NAMES
        if cell.method != "POST" or role_of(cell.role) not in matrix.MEMBERS or strict:
            return []
        other = self.house.strangers["lead"].yard_id
        drawn_by_it = cell.row.name
        return [
            each
            for each in never_written(cell.role, other)
            if drawn_by_it not in each.drawn_by and each.name not in self.form(cell.row)
        ]


# Its reader takes no name that it does not know; what it is sent is stored nowhere.
REFUSES_STRANGE_NAMES = frozenset({"api_evaluations"})


def make_asker(house: House) -> Asker:
    for role, member in house.strangers.items():
        text = token_create(member=member, name="test")[1]
        house.things[f"token_of_{role} elsewhere"] = text
    other = house.strangers["lead"].yard_id
    every = {each.name: each for role in matrix.MEMBERS for each in never_written(role, other)}
    house.things |= {
        "forged before": held(list(every.values())),
        "never seen": {role: figures(never_seen(role)) for role in matrix.MEMBERS},
    }
    return Asker(house, forms=house.forms)


class undone:  # noqa: N801  # reads as a word
    """Undo what is done inside by a savepoint, whatever it was."""

    def __enter__(self) -> None:
        self.point = transaction.savepoint()

    def __exit__(self, *_: object) -> None:
        connection.needs_rollback = False
        transaction.savepoint_rollback(self.point)


def newest_entry() -> int:
    last = AuditEntry.objects.order_by("-pk").values_list("pk", flat=True).first()
    return last or 0


def text(answer: Any) -> str:
    if answer.streaming or "pdf" in answer.headers.get("Content-Type", ""):
        return ""
    body: str = answer.content.decode()
    return body


def why(answer: Any) -> str:
    """What a form that was meant to stand is refused for."""
    if answer.status_code == 409:
        return re.sub(r"<[^>]+>|\s+", " ", text(answer))[:2000]
    form = answer.context.get("form") if answer.context else None
    return json.dumps(form.errors) if form is not None and answer.status_code == 422 else ""


def plain(answer: Any, url: str) -> str:
    return VARYING.sub(r"\1-", text(answer)).replace(url, "address")
