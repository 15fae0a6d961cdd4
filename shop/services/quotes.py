"""Writing quotes: from a proposal to options, lines, overrides and the issued paper."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shop.exceptions import Refused
from shop.failpoints import failpoint, failpoint_on_commit
from shop.models import (
    Document,
    DocumentKind,
    Hull,
    Job,
    Member,
    Override,
    Quote,
    QuoteLine,
    QuoteOption,
    QuoteStatus,
    SystemState,
)
from shop.numbering import local_day
from shop.pricing import Line, PriceError, Totals, option_lines, totals_of
from shop.selectors.consented import job_authorized
from shop.selectors.evaluations import state_read
from shop.selectors.lacking import proposal_lacking, quote_lacking
from shop.selectors.lines import line_fields
from shop.selectors.pricing import rate_card_on, rates_on, tax_on
from shop.selectors.quote_snapshot import QUOTE_TEMPLATE_VERSION, quote_snapshot
from shop.selectors.quotes import quote_blockers
from shop.selectors.work import changed_parts, changed_segments, option_work
from shop.services.audit import audit_append
from shop.services.documents import document_issue
from shop.services.drafts import proposal_discard, proposal_undrafted
from shop.services.locks import quote_lock, state_lock
from shop.services.measurements import measurements_follow
from shop.services.numbering import number_take
from shop.services.systems import proposal_copy

LETTERS = "ABCDEFGH"


@transaction.atomic
def quote_start(*, member: Member, hull: Hull, proposed: SystemState) -> Quote:
    """Begin a draft from a proposal: one option with all that the proposal renews."""
    if proposed.hull_id != hull.pk or proposed.parent is None:
        raise Refused(_("This is no proposal for this boat. Start one from the survey."))
    proposed = proposal_undrafted(proposed)
    lacking = proposal_lacking(proposed, on=local_day(timezone.now(), hull.yard.time_zone))
    if lacking.count:
        words = ngettext(
            "%(n)s thing is missing before a quote. It is listed under the segments.",
            "%(n)s things are missing before a quote. They are listed under the segments.",
            lacking.count,
        )
        raise Refused(words % {"n": lacking.count})
    quote = Quote(
        yard=hull.yard, hull=hull, found=proposed.parent, proposed=proposed, created_by=member
    )
    quote.full_clean()
    quote.save()
    option_add(member=member, quote=quote, title=_("All proposed work"))
    _log(member, "quote.start", quote)
    return quote


@transaction.atomic
def option_add(
    *,
    member: Member,
    quote: Quote,
    title: str,
    segments: Sequence[str] | None = None,
    extras: Sequence[dict[str, str]] | None = None,
    summary: str = "",
    recommended: bool = False,
) -> QuoteOption:
    """Add an option; without a choice of segments it renews all that the proposal renews."""
    _still_draft(quote)
    taken = set(quote.options.values_list("letter", flat=True))
    free = [letter for letter in LETTERS if letter not in taken]
    if not free:
        raise Refused(_("A quote has eight options at most. Remove one first."))
    option = QuoteOption(
        quote=quote,
        letter=free[0],
        title=title,
        summary=summary,
        recommended=recommended,
        segments=list(changed_segments(quote) if segments is None else segments),
        extras=list(changed_parts(quote) if extras is None else extras),
    )
    _save_priced(option)
    _log(member, "quote.option_add", quote, option=option.letter)
    return option


@transaction.atomic
def option_change(
    *,
    member: Member,
    option: QuoteOption,
    title: str,
    summary: str,
    recommended: bool,
    segments: Sequence[str],
    extras: Sequence[dict[str, str]],
) -> QuoteOption:
    """Set what an option renews and what it is called, and price it anew."""
    quote = option.quote
    _still_draft(quote)
    if recommended:
        quote.options.exclude(pk=option.pk).filter(recommended=True).update(recommended=False)
    option.title, option.summary, option.recommended = title, summary, recommended
    option.segments, option.extras = list(segments), list(extras)
    _save_priced(option)
    _log(member, "quote.option_change", quote, option=option.letter)
    return option


@transaction.atomic
def option_remove(*, member: Member, option: QuoteOption) -> None:
    quote = option.quote
    _still_draft(quote)
    if quote.options.count() == 1:
        raise Refused(_("A quote keeps one option at least."))
    letter = option.letter
    option.delete()
    _log(member, "quote.option_remove", quote, option=letter)


@transaction.atomic
def quote_change(
    *,
    member: Member,
    quote: Quote,
    fuel_aboard_gal: Decimal | None,
    waste_gal: Decimal | None,
    style: str,
    note: str,
    no_work_price: Decimal | None = None,
) -> Quote:
    """Set what belongs to the whole quote, and price every option anew."""
    _still_draft(quote)
    quote.fuel_aboard_gal, quote.waste_gal = fuel_aboard_gal, waste_gal
    quote.style, quote.note = style, note
    quote.no_work_price = no_work_price
    quote.full_clean()
    quote.save()
    quote_reprice(quote=quote)
    _log(member, "quote.change", quote)
    return quote


@transaction.atomic
def quote_reprice(*, quote: Quote) -> None:
    """Price every option from the proposal, the price list and the rates of the day."""
    _still_draft(quote)
    renewed = set(changed_segments(quote))
    for option in quote.options.all():
        option.quote = quote
        option.segments = [ident for ident in option.segments if ident in renewed]
        _save_priced(option)


@transaction.atomic
def override_add(
    *, member: Member, quote: Quote, subject: str, rule: str, regime: str, reason: str
) -> Override:
    """A lead takes a finding on: named, with a reason, printed on the paper."""
    _still_draft(quote)
    waiting = {b.key: b for b in quote_blockers(quote, on=_today(quote))}
    blocker = waiting.get((subject, rule, regime))
    if blocker is None:
        raise Refused(_("Nothing of this kind stands in the way of the quote any more."))
    override = Override(
        quote=quote,
        subject=subject,
        rule=rule,
        regime=regime,
        outcome=blocker.finding.outcome,
        message=str(blocker.finding.message),
        reason=reason.strip(),
        member=member,
        at=timezone.now(),
    )
    override.full_clean()
    override.save()
    _log(member, "quote.override", quote, subject=subject, rule=rule, regime=regime)
    return override


@transaction.atomic
def override_withdraw(*, member: Member, override: Override) -> None:
    quote = override.quote
    _still_draft(quote)
    subject, rule = override.subject, override.rule
    override.delete()
    _log(member, "quote.override_withdraw", quote, subject=subject, rule=rule)


@transaction.atomic
def quote_issue(*, member: Member, quote: Quote, at: datetime | None = None) -> Document:
    """Issue a quote. In one transaction:

    1. refuse while a finding stands in the way without an override;
    2. price every option with the rates of the day;
    3. take the quote's number and, for a new job, the job's;
    4. store the paper as a copy with its hash, ask for its PDF, and log it.
    """
    failpoint_on_commit("quote.committed")
    quote = quote_lock(quote)
    _still_draft(quote)
    # Held until the commit: from then on the proposal stays as the paper shows it.
    quote.proposed = state_lock(quote.proposed)
    at = at or timezone.now()
    day = local_day(at, quote.yard.time_zone)
    _nothing_in_the_way(quote, day)
    quote_reprice_on(quote=quote, day=day)
    card = rate_card_on(quote.yard, day)
    quote.job = quote.job or _job_open(quote, day)
    quote.number = quote.number or number_take(yard=quote.yard, kind="quote", day=day)
    failpoint("quote.numbers taken")
    quote.issued_on, quote.valid_to = day, day + timedelta(days=card.quote_days)
    quote.found_revision, quote.proposed_revision = quote.found.revision, quote.proposed.revision
    quote.status = QuoteStatus.ISSUED
    quote.full_clean()
    quote.save()
    earlier = Quote.objects.filter(yard=quote.yard, number=quote.number, status=QuoteStatus.ISSUED)
    earlier.exclude(pk=quote.pk).update(status=QuoteStatus.SUPERSEDED)
    document = document_issue(
        member=member,
        kind=DocumentKind.QUOTE,
        number=quote.number,
        version=quote.version,
        hull=quote.hull,
        job=quote.job,
        quote=quote,
        document_date=day,
        issued_at=at,
        snapshot=quote_snapshot(quote, on=day, issued_by=member),
        template_version=QUOTE_TEMPLATE_VERSION,
    )
    _log(member, "quote.issue", quote, number=quote.number, version=quote.version)
    failpoint("quote.before commit")
    return document


@transaction.atomic
def quote_discard(*, member: Member, quote: Quote) -> None:
    """Throw a draft away with its options and overrides; the log keeps that it was.

    A first draft has taken no number. The draft of a later version shares the number of what
    was issued, which stays; the next version takes its place. The proposal that was begun
    for it goes with it, so that the newest one is again the one that the owner was shown.
    """
    quote = quote_lock(quote)
    _still_draft(quote)
    if quote.number:
        _log(member, "quote.discard", quote, number=quote.number, version=quote.version)
    else:
        _log(member, "quote.discard", quote)
    quote.delete()
    failpoint("quote.deleted")
    if quote.number:
        proposal_discard(quote.proposed)


@transaction.atomic
def quote_revise(*, member: Member, quote: Quote) -> Quote:
    """Begin the next version of an issued quote: same number, same options, priced anew.

    It gets a proposal of its own, with what was corrected in the survey since; the one that the
    owner was shown stays as it is.
    """
    quote = quote_lock(quote)
    if quote.status == QuoteStatus.DRAFT:
        raise Refused(_("This is a draft still. Change it as it is."))
    if quote.job is not None and job_authorized(quote.job) is not None:
        raise Refused(
            _("%(job)s is authorized already. More work is a change order.")
            % {"job": quote.job.number}
        )
    drafts = Quote.objects.filter(yard=quote.yard, number=quote.number, status=QuoteStatus.DRAFT)
    if drafts.exists():
        raise Refused(_("A new version of %(number)s is begun already.") % {"number": quote.number})
    last = Quote.objects.filter(yard=quote.yard, number=quote.number).order_by("-version").first()
    names = ("yard", "hull", "job", "number", "style", "found", "note")
    figures = ("fuel_aboard_gal", "waste_gal", "no_work_price")
    kept = {name: getattr(quote, name) for name in (*names, *figures)}
    version = last.version if last else quote.version
    proposed = proposal_copy(proposed=quote.proposed, member=member)
    measurements_follow(proposal=proposed, since=quote.found_revision, member=member)
    revised = Quote(**kept, proposed=proposed, version=version + 1, created_by=member)
    revised.full_clean()
    revised.save()
    for option in quote.options.all():
        _option_copy(option, revised)
    _log(member, "quote.revise", revised, version=revised.version)
    return revised


def _option_copy(option: QuoteOption, quote: Quote) -> None:
    names = ("letter", "title", "summary", "recommended", "segments", "extras")
    copy = QuoteOption(quote=quote, **{name: getattr(option, name) for name in names})
    _save_priced(copy)


def quote_reprice_on(*, quote: Quote, day: date) -> None:
    """Price every option with the rates in force on a day."""
    for option in quote.options.all():
        option.quote = quote
        _save_priced(option, day)


def _job_open(quote: Quote, day: date) -> Job:
    number = number_take(yard=quote.yard, kind="job", day=day)
    job = Job(yard=quote.yard, hull=quote.hull, number=number, opened_on=day)
    job.full_clean()
    job.save()
    return job


def _nothing_in_the_way(quote: Quote, day: date) -> None:
    if not quote.options.exists():
        raise Refused(_("The quote has no option. Add one first."))
    if any(not option.segments and not option.extras for option in quote.options.all()):
        raise Refused(_("An option renews nothing. Choose its segments or remove it."))
    lacking = quote_lacking(quote, on=day)
    if lacking.count:
        words = ngettext(
            "%(n)s thing is missing before the quote can be issued. It is listed below.",
            "%(n)s things are missing before the quote can be issued. They are listed below.",
            lacking.count,
        )
        raise Refused(words % {"n": lacking.count})
    blockers = quote_blockers(quote, on=day)
    if blockers:
        names = ", ".join(dict.fromkeys(blocker.subject for blocker in blockers))
        raise Refused(
            _("A lead decides on %(names)s first, by name and with a reason.") % {"names": names}
        )


def _save_priced(option: QuoteOption, day: date | None = None) -> None:
    quote = option.quote
    day = day or _today(quote)
    rates, tax = rates_on(quote.yard, day), tax_on(quote.yard, day)
    try:
        work = option_work(option, state_read(quote.proposed))
        lines = option_lines(work, rates, tax)
    except PriceError as error:
        raise Refused(str(error)) from error
    _set_totals(option, totals_of(lines, rates, tax))
    option.full_clean()
    option.save()
    failpoint("option.stored")
    option.lines.all().delete()
    QuoteLine.objects.bulk_create(_row(option, line) for line in lines)


def _set_totals(option: QuoteOption, totals: Totals) -> None:
    option.labor_hours = totals.hours
    for name in ("labor", "parts", "supplies", "fees", "net", "taxable", "tax", "total", "deposit"):
        setattr(option, name, getattr(totals, name))


def _row(option: QuoteOption, line: Line) -> QuoteLine:
    row = QuoteLine(option=option, **line_fields(line))
    row.clean_fields()
    return row


def _still_draft(quote: Quote) -> None:
    if quote.status != QuoteStatus.DRAFT:
        raise Refused(
            _("%(number)s is issued and stays as it is. Make a new version to change it.")
            % {"number": quote.number}
        )


def _today(quote: Quote) -> date:
    return local_day(timezone.now(), quote.yard.time_zone)


def _log(member: Member, action: str, quote: Quote, **values: str | int | None) -> None:
    audit_append(yard=quote.yard, member=member, action=action, subject=quote, values=values)
