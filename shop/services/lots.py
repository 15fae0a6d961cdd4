"""Reels received, pieces cut from them, pieces put back."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from fuelsys.document.marking import read_marking
from shop.exceptions import Refused
from shop.failpoints import failpoint, failpoint_on_commit
from shop.inches import decimal_text
from shop.models import Cut, Lot, Member, Product, ProductKind, Reel, WorkOrder
from shop.selectors.lots import reel_left_in
from shop.services.audit import audit_append
from shop.services.locks import reel_lock, yard_lock


@transaction.atomic
def reel_receive(
    *,
    member: Member,
    product: Product,
    ident: str,
    lot_code: str,
    marking: str,
    length_in: Decimal,
    received_on: date,
) -> Reel:
    """Take a reel into stock, with the marking as it was read on the hose.

    1. The class that the marking shows must be the class of the product; a hose whose marking
       shows none is no fuel hose for us.
    2. The lot is made, or found with the same year on its hose.
    3. A reel of a lot that was called back is set apart at once.
    """
    failpoint_on_commit("reel.committed")
    if product.kind != ProductKind.HOSE:
        raise Refused(_("%(sku)s is no hose, so it comes on no reel.") % {"sku": product.sku})
    year = _year_read(product, marking)
    yard_lock(member.yard)
    lot = _lot_of(member, product, lot_code.strip(), marking.strip(), year)
    failpoint("reel.lot on file")
    called_back = lot.recalls.exists()
    reel = Reel(
        yard=member.yard,
        lot=lot,
        ident=ident.strip(),
        received_on=received_on,
        received_in=length_in,
        checked_by=member,
        quarantined_at=timezone.now() if called_back else None,
    )
    reel.full_clean()
    reel.save()
    failpoint("reel.stored")
    audit_append(
        yard=member.yard,
        member=member,
        action="reel.receive",
        subject=reel,
        values={"lot": lot.code, "sku": product.sku, "length_in": str(length_in)},
    )
    failpoint("reel.before commit")
    return reel


@transaction.atomic
def cut_take(
    *,
    member: Member,
    reel: Reel,
    work_order: WorkOrder,
    segment_ident: str,
    length_in: Decimal,
    at: datetime | None = None,
) -> Cut:
    """Take one whole piece from a reel. Refused when the reel is set apart or holds less."""
    reel = reel_lock(reel)
    if reel.quarantined_at is not None:
        raise Refused(
            _("%(reel)s is set apart: lot %(lot)s is called back. Choose another reel.")
            % {"reel": reel.ident, "lot": reel.lot.code}
        )
    left = reel_left_in(reel)
    if length_in > left:
        raise Refused(
            _(
                "%(reel)s holds %(left)s in; %(segment)s needs one piece of %(length)s in, "
                "and fuel hose is not spliced. Choose another reel."
            )
            % {
                "reel": reel.ident,
                "left": inches_text(left),
                "segment": segment_ident,
                "length": inches_text(length_in),
            }
        )
    return _record(member, reel, work_order, segment_ident, length_in, at)


@transaction.atomic
def cut_put_back(*, member: Member, cut: Cut, at: datetime | None = None) -> Cut:
    """Put a piece back in the ledger, as when a tick was a mistake. Once only."""
    reel = reel_lock(cut.reel)
    if cut.puts_back_id is not None or Cut.objects.filter(puts_back=cut).exists():
        raise Refused(_("This piece is back on %(reel)s already.") % {"reel": reel.ident})
    return _record(member, reel, cut.work_order, cut.segment_ident, -cut.length_in, at, cut)


def inches_text(length_in: Decimal) -> str:
    return decimal_text(length_in)


def _record(
    member: Member,
    reel: Reel,
    work_order: WorkOrder,
    segment_ident: str,
    length_in: Decimal,
    at: datetime | None,
    puts_back: Cut | None = None,
) -> Cut:
    cut = Cut(
        yard=reel.yard,
        reel=reel,
        work_order=work_order,
        segment_ident=segment_ident,
        length_in=length_in,
        puts_back=puts_back,
        member=member,
        at=at or timezone.now(),
    )
    cut.full_clean()
    cut.save(force_insert=True)
    return cut


def _year_read(product: Product, marking: str) -> int | None:
    read = read_marking(marking)
    wanted = product.facts.get("class")
    if wanted and read.mark != wanted:
        raise Refused(
            _(
                "The marking shows %(read)s; %(sku)s is type %(wanted)s. Set the reel apart and "
                "ask the supplier, or read the marking again."
            )
            % {
                "read": _("type %(mark)s") % {"mark": read.mark}
                if read.mark and read.mark != "NONE"
                else _("no USCG type"),
                "sku": product.sku,
                "wanted": wanted,
            }
        )
    return read.year


def _lot_of(member: Member, product: Product, code: str, marking: str, year: int | None) -> Lot:
    lot = Lot.objects.filter(yard=member.yard, product=product, code=code).first()
    if lot is not None:
        if lot.marked_year != year:
            raise Refused(
                _("Lot %(lot)s is on file with %(filed)s on its hose, not %(year)s.")
                % {"lot": code, "filed": lot.marked_year, "year": year}
            )
        return lot
    lot = Lot(yard=member.yard, product=product, code=code, marked_year=year, marking=marking)
    lot.full_clean()
    lot.save()
    return lot
