"""The table of authz.yaml spelled out: each role, address, method and object with its status."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

TABLE = Path(__file__).with_name("authz.yaml")
MEMBERS = ("lead", "writer", "technician", "bookkeeper")
LINKS = ("owner_right", "owner_other", "owner_expired", "owner_revoked")
GUESTS = ("anonymous", *LINKS)
TOKENS = tuple(f"token_of_{role}" for role in MEMBERS)
DEAD_TOKENS = ("token_of_disabled", "token_revoked")
ROLES = (*MEMBERS, *GUESTS, "disabled", *TOKENS, *DEAD_TOKENS)
METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")
# A page looks at no token: one living and one dead stand for all of them there.
ASKED_OF_PROGRAMS_ALONE = frozenset(TOKENS[1:]) | {"token_of_disabled"}
# Methods that an address does not take are asked for by these: none of them is refused for less.
TRIES_EVERY_METHOD = ("lead", "anonymous", "token_of_lead")
USUAL = {("page", "GET"): 200, ("page", "POST"): 302, ("api", "GET"): 200, ("api", "POST"): 200}


@dataclass(frozen=True)
class Row:
    """One address; `methods` says what each of them takes, as the file does."""

    area: str
    name: str
    of: str  # the object asked about, "" for none
    given: str  # what fills an address that is about no object of the yard's
    methods: dict[str, Any]
    signed_in: int


@dataclass(frozen=True)
class Cell:
    row: Row
    role: str
    method: str
    target: str  # own, other, absent
    status: int

    def __str__(self) -> str:
        return f"{self.role} {self.method} {self.row.name} {self.target}"


def table() -> dict[str, Any]:
    loaded: dict[str, Any] = yaml.safe_load(TABLE.read_text(encoding="utf-8"))
    return loaded


def rows() -> list[Row]:
    return [
        Row(
            area,
            name,
            line.get("of", ""),
            line.get("with") or line.get("of") or "nothing",
            {method: line[method] for method in METHODS if method in line},
            line.get("signed_in", 0),
        )
        for area, lines in table()["areas"].items()
        for name, line in lines.items()
    ]


def cells(roles: tuple[str, ...] = ROLES) -> Iterator[Cell]:
    for row in rows():
        for role in roles:
            yield from _cells(row, role)


def _cells(row: Row, role: str) -> Iterator[Cell]:
    if row.area == "page" and role in ASKED_OF_PROGRAMS_ALONE:
        return
    for method in METHODS:
        listed = method in row.methods
        if not listed and role not in TRIES_EVERY_METHOD:
            continue
        for target in _targets(row, role) if listed else ("own",):
            status = _status(row, role, method, target) if listed else _unlisted(row, role, method)
            yield Cell(row, role, method, target, status)


def _targets(row: Row, role: str) -> tuple[str, ...]:
    """Members are asked about all three; at a door that is shut before, fewer say the same."""
    if not row.of:
        return ("own",)
    knows = {"page": MEMBERS, "api": (*MEMBERS, *TOKENS)}.get(row.area, ())
    if role in knows or (row.name == "owner_paper" and role in LINKS):
        return ("own", "other", "absent")
    shut = row.area == "page" and role in LINKS
    return ("own",) if shut else ("own", "absent")


def _status(row: Row, role: str, method: str, target: str) -> int:
    said = row.methods[method]
    if row.area == "public":
        signed = row.signed_in and (role in MEMBERS or role == "disabled")
        return int(row.signed_in if signed else said)
    if row.area == "owner":
        return _owner(row, role, said, target)
    if (shut := _door(row, role)) is not None:
        return shut
    group, _, status = str(said).partition(" ")
    may = table_groups()[group]
    if role.removeprefix("token_of_") not in may:
        return 403
    if target != "own":
        return 404
    return int(status or USUAL[row.area, method])


def _owner(row: Row, role: str, said: dict[str, int], target: str) -> int:
    if target == "own":
        return int(said.get(role, 404))
    if target == "other" and role == "owner_other":
        return 200  # the other owner's own paper
    return 404


def _door(row: Row, role: str) -> int | None:
    """What stops a role before anything is asked of it; None where nothing does."""
    is_page = row.area == "page"
    if role in GUESTS:
        return 302 if is_page else 401
    if role == "disabled":
        return 403
    if role in DEAD_TOKENS:
        return 302 if is_page else 401
    if role in TOKENS and is_page:
        return 302
    return None


def _unlisted(row: Row, role: str, method: str) -> int:
    """A method that is not taken: whoever stands at a shut door is told of the door."""
    if row.area in ("page", "api"):
        shut = _door(row, role)
        if shut is not None:
            return shut
    return 405


_GROUPS: dict[str, frozenset[str]] = {}


def table_groups() -> dict[str, frozenset[str]]:
    if not _GROUPS:
        _GROUPS.update({name: frozenset(who) for name, who in table()["groups"].items()})
    return _GROUPS
