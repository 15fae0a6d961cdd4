"""The owner's link on a paper: a QR code, and the same address in words.

Neither is in the snapshot: the address opens the job, so it is made when the paper is, and
stands on the paper alone. Papers that stay with the boat or in the shop carry none.
"""

from __future__ import annotations

from dataclasses import dataclass

import segno
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.debug import sensitive_variables

from shop.models import Document, OwnerLink
from shop.selectors.owner_page import OWNER_KINDS
from shop.services.ownerlinks import ownerlink_address, ownerlink_is_open

QUIET_MODULES = 4  # ISO/IEC 18004: the quiet zone of a QR code is four modules wide


@dataclass(frozen=True)
class PaperLink:
    qr: SafeString
    address: str


@sensitive_variables()
def owner_link(document: Document) -> PaperLink | None:
    """None for papers that are not the owner's, and where the link is closed."""
    if document.kind not in OWNER_KINDS or document.job_id is None:
        return None
    link = OwnerLink.objects.filter(job=document.job_id).first()
    if link is None or not ownerlink_is_open(link, now=timezone.now()):
        return None
    address = ownerlink_address(link).reveal()
    code = segno.make_qr(address, error="m")
    drawn = code.svg_inline(border=QUIET_MODULES, omitsize=True)
    return PaperLink(mark_safe(drawn), address)  # noqa: S308  (drawn by us from our own address)
