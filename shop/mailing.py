"""The text of a mail, made when it is sent, with the owner's link where the mail has a job."""

from __future__ import annotations

from typing import Any

from django.template.loader import render_to_string
from django.views.decorators.debug import sensitive_variables

from shop.models import Job, Mail, MailTopic, OwnerLink
from shop.selectors.mails import Due, due_of
from shop.services.ownerlinks import ownerlink_address


@sensitive_variables()
def mail_text(mail: Mail) -> tuple[str, str]:
    """Subject and body. The first line of a template is the subject, the rest the body."""
    text = render_to_string(f"mail/{mail.topic}.txt", mail_context(mail))
    subject, _newline, body = text.lstrip().partition("\n")
    return " ".join(subject.split()), body.strip() + "\n"


@sensitive_variables()
def mail_context(mail: Mail) -> dict[str, Any]:
    hull = _hull_of(mail)
    return {
        "yard": mail.yard,
        "hull": hull,
        "owner": hull.customer if hull else None,
        "job": mail.job,
        "document": mail.document,
        "quote": mail.document.quote if mail.document else None,
        "address": _address(mail.job),
        "due": _due(mail),
    }


def _hull_of(mail: Mail) -> Any:
    if mail.document is not None:
        return mail.document.hull
    return mail.job.hull if mail.job is not None else None


@sensitive_variables()
def _address(job: Job | None) -> str:
    link = OwnerLink.objects.filter(job=job).first() if job is not None else None
    return ownerlink_address(link).reveal() if link is not None else ""


def _due(mail: Mail) -> list[Due]:
    if mail.topic != MailTopic.REMINDER or mail.job is None:
        return []
    return due_of(mail.job)
