"""All checks in one look at one moment of the database."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager

from django.db import connection, transaction

from shop.verify import (
    answers,
    balances,
    billed,
    chain,
    consents,
    events,
    files,
    fitted,
    hose,
    links,
    members,
    money,
    numbers,
    papers,
    planned,
    promises,
    readings,
    received,
    safe,
    seals,
    stops,
    storage,
    told,
    who,
    worded,
    work,
    yards,
)
from shop.verify.model import Check, Fault, Look, Report

logger = logging.getLogger(__name__)

CHECKS: Mapping[str, Check] = {
    "database.integrity": storage.integrity,
    "database.foreign_keys": storage.foreign_keys,
    "database.triggers": storage.triggers_in_force,
    "yards.apart": yards.apart,
    "events.once": events.once,
    "events.content": events.content,
    "events.text": events.text,
    "events.counted": told.events,
    "events.received": received.as_they_came,
    "events.sent": who.sent,
    "work.closed": work.closed,
    "work.ticked": fitted.ticked,
    "work.made_safe": safe.made_safe_first,
    "work.judged": readings.judged,
    "work.pieces": hose.pieces_follow_ticks,
    "hose.reels": hose.reels,
    "hose.put_back": hose.put_back,
    "numbers.gapless": numbers.gapless,
    "money.lines": money.lines,
    "money.quotes": money.quotes,
    "money.changes": money.changes,
    "money.invoices": money.invoices,
    "money.credits": money.credits,
    "money.payments": money.payments,
    "money.balances": balances.owed,
    "papers.copy": papers.copies,
    "papers.rows": papers.rows,
    "papers.lines": worded.lines,
    "papers.bills": billed.lines,
    "papers.records": papers.records,
    "papers.pdf": papers.pdfs,
    "files.stored": files.stored,
    "files.orphans": files.orphans,
    "promises.kept": promises.kept,
    "promises.renders": promises.renders,
    "promises.mails": promises.mails,
    "consents.bound": consents.bound,
    "consents.status": consents.status,
    "consents.totals": consents.totals,
    "consents.followed": planned.as_consented,
    "audit.chain": chain.unbroken,
    "audit.told": told.rows,
    "audit.sealed": seals.unbroken,
    "audit.members": members.roles,
    "audit.links": links.open_or_closed,
    "audit.stops": stops.standing,
    "answers.kept": answers.kept,
}


def run(checks: Mapping[str, Check] = CHECKS) -> Report:
    """Run every check. One that breaks is a fault of its own and hides no other."""
    report = Report()
    with one_moment():
        for name, check in checks.items():
            look = Look()
            found = list(_guarded(name, check, look))
            report.looked[name] = look.count
            if look.uncovered:
                report.not_covered[name] = look.uncovered
            if found:
                report.faults[name] = found
    return report


def _guarded(name: str, check: Check, look: Look) -> Iterator[Fault]:
    faults: list[Fault] = []
    try:
        with _undone():
            faults += check(look)
    except Exception as error:
        logger.exception("Check %s could not be run to its end", name)
        faults.append(Fault(name, f"stopped by {type(error).__name__}", "runs to its end"))
    return iter(faults)


@contextmanager
def _undone() -> Iterator[None]:
    """A query that fails leaves the transaction usable for the next check."""
    if connection.vendor == "postgresql":
        with transaction.atomic():
            yield
    else:
        yield


@contextmanager
def one_moment() -> Iterator[None]:
    """Read everything as it was at one moment, without keeping writers waiting."""
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "postgresql":
        with transaction.atomic():
            _execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
    else:
        # A transaction of Django's would take the one write lock; a deferred one only reads.
        connection.ensure_connection()
        _execute("PRAGMA query_only = ON")
        _execute("BEGIN DEFERRED")
        try:
            yield
        finally:
            _execute("ROLLBACK")
            _execute("PRAGMA query_only = OFF")


def _execute(statement: str) -> None:
    run_: Callable[[str], object] = connection.cursor().execute
    run_(statement)
