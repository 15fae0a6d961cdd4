"""Who may do what: one table, deny by default."""

from __future__ import annotations

from shop.models import Role

READ = frozenset(
    {
        "customer.read",
        "boat.read",
        "survey.read",
        "proposal.read",
        "quote.read",
        "job.read",
        "lot.read",
        "invoice.read",
        "document.read",
        "price.read",
    }
)

LEAD = READ | {
    "invoice.write",
    "payment.write",
    "customer.write",
    "boat.write",
    "survey.write",
    "fact.write",
    "proposal.write",
    "stop.set",
    "stop.lift",
    "quote.write",
    "quote.issue",
    "override.write",
    "consent.write",
    "change.write",
    "link.write",
    "mail.read",
    "mail.send",
    "job.write",
    "work.write",
    "work.decide",
    "work.complete",
    "workorder.print",
    "lot.write",
    "recall.write",
    "document.render",
    "price.write",
    "rate.read",
    "rate.write",
    "practice.write",
    "member.read",
    "member.write",
    "yard.write",
    "audit.read",
}

WRITER = READ | {
    "customer.write",
    "boat.write",
    "survey.write",
    "fact.write",
    "proposal.write",
    "stop.set",
    "quote.write",
    "quote.issue",
    "consent.write",
    "change.write",
    "link.write",
    "mail.read",
    "mail.send",
    "job.write",
    "workorder.print",
    "lot.write",
    "recall.write",
    "document.render",
    "rate.read",
}

TECHNICIAN = frozenset(
    {
        "boat.read",
        "survey.read",
        "survey.write",
        "fact.write",
        "proposal.read",
        "stop.set",
        "job.read",
        "work.write",
        "workorder.print",
        "lot.read",
        "lot.write",
    }
)

BOOKKEEPER = (READ - {"survey.read", "proposal.read"}) | {
    "invoice.write",
    "payment.write",
    "customer.write",
    "mail.read",
    "mail.send",
    "lot.write",
    "price.write",
    "rate.read",
    "rate.write",
    "document.render",
}

ALLOWED: dict[str, frozenset[str]] = {
    Role.LEAD: frozenset(LEAD),
    Role.WRITER: frozenset(WRITER),
    Role.TECHNICIAN: TECHNICIAN,
    Role.BOOKKEEPER: frozenset(BOOKKEEPER),
}

ACTS = frozenset(LEAD)


def is_of_lead_alone(act: str) -> bool:
    """Whether the lead is the only role that includes an act: their own word is asked for."""
    return is_allowed(Role.LEAD, act) and not any(
        is_allowed(role, act) for role in ALLOWED if role != Role.LEAD
    )


def is_allowed(role: str, act: str) -> bool:
    """Whether a role includes an act; an act that is not in the table is a programming error."""
    if act not in ACTS:
        raise KeyError(f"The act “{act}” is not in the role table of shop/permissions.py.")
    return act in ALLOWED.get(role, frozenset())
