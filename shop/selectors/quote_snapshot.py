"""Everything a quote's paper says, as one JSON value: names, figures, reasons and the drawing.

The paper is made from this copy alone, so what the owner was shown stays what it was.
Money and quantities are text; sentences keep their figures (`shop.texts`).
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.utils.translation import gettext_lazy as _

from fuelsys.rules.base import CANNOT_TELL, Finding
from shop.cautions import DEFERS, NO_CERTIFICATE, cautions_for
from shop.drawing import draw_sheets
from shop.models import Member, Override, Quote, QuoteOption
from shop.money import money_text
from shop.selectors.carried import carried_shown
from shop.selectors.evaluations import Judged
from shop.selectors.grounds import citation_of, reason_pack
from shop.selectors.lines import not_new
from shop.selectors.paper_parts import (
    boat_part,
    do_not_run_reason,
    fuels_of,
    law_said,
    owner_part,
    paper_size,
    yard_part,
)
from shop.selectors.paper_profiles import over_limit_part
from shop.selectors.pricing import rate_card_on, tax_profile_on
from shop.selectors.quote_rows import Group, Row, quantity_text, quote_groups
from shop.selectors.quote_told import told_part
from shop.selectors.quote_unknown import unknown_part
from shop.selectors.quotes import blocking_of, left_undone, quote_judged
from shop.selectors.unseen import as_seen
from shop.texts import text_pack

QUOTE_TEMPLATE_VERSION = "quote/1"
LAW = "33-cfr-183"
EPA = "40-cfr-1060"
PRACTICE = "practice"
LAW_NAMES = {
    LAW: _("Boat fuel systems, 33 CFR 183 Subpart J"),
    EPA: _("Hose emissions, 40 CFR 1060"),
}
APPLIES_WORDS = {
    "yes": _("yes"),
    "no": _("no"),
    "review": _("a person must judge"),
    "cannot_tell": _("cannot tell"),
}
SUPPLIED = ("labor", "parts", "supplies", "fees", "net", "taxable", "tax", "total", "deposit")


def quote_snapshot(quote: Quote, *, on: date, issued_by: Member) -> dict[str, Any]:
    """The quote as it stands, ready to be stored with its hash."""
    judged_found, judged_proposed = quote_judged(quote, on=on)
    carried = carried_shown(quote.found)
    found = as_seen(judged_found, carried)
    proposed = as_seen(judged_proposed, carried_shown(quote.proposed))
    card = rate_card_on(quote.yard, on)
    tax = tax_profile_on(quote.yard, on)
    options = list(quote.options.all())
    return {
        "paper": QUOTE_TEMPLATE_VERSION,
        "size": paper_size(quote.yard),
        "number": quote.number,
        "version": quote.version,
        "issued_on": on.isoformat(),
        "valid_to": quote.valid_to.isoformat() if quote.valid_to else "",
        "issued_by": issued_by.user.name,
        "style": str(quote.get_style_display()),
        "note": quote.note,
        "no_work_price": "" if quote.no_work_price is None else money_text(quote.no_work_price),
        "yard": yard_part(quote.yard),
        "boat": boat_part(quote.hull),
        "owner": owner_part(quote.hull.customer),
        "do_not_run": do_not_run_reason(quote.hull),
        "options": [_option(option, on) for option in options],
        "groups": [_group(group) for group in quote_groups(quote)],
        "not_new": not_new(line for option in options for line in option.lines.all()),
        "tax": {
            "name": tax.name,
            "percent": _percent(tax.rate),
            "method": tax.method,
            "kinds": sorted(tax.taxable_kinds),
        },
        "labor_rate": money_text(card.labor_rate),
        "warranty_months": card.warranty_months,
        "drawing": drawing_of(found, "found"),
        "drawing_proposed": drawing_of(proposed, "proposed", found=found),
        "profiles": over_limit_part(found.document),
        "told": told_part(quote.found, found, carried),
        "reasons": reasons_of(found),
        "after": after_of(quote, proposed),
        "unknown_parts": unknown_part(quote.found, proposed),
        "law": law_of(found),
        "law_said": law_said(found.document),
        "overrides": [_override(row) for row in quote.overrides.select_related("member__user")],
        "not_seen": _not_seen(found),
        "cautions": [str(caution.text) for caution in cautions_for("Q", fuels_of(found.document))],
        "defers": [str(DEFERS), str(NO_CERTIFICATE)],
        "documents": {"found": dict(found.source), "proposed": dict(proposed.source)},
        "evaluations": {
            "found": judged_found.evaluation.to_json(),
            "proposed": judged_proposed.evaluation.to_json(),
        },
    }


def drawing_of(judged: Judged, state: str, *, found: Judged | None = None) -> list[str]:
    """The drawing of a state for paper: one for each tank, so that none has to break."""
    sheets = draw_sheets(
        judged.document,
        judged.evaluation,
        size="paper",
        state=state,
        found=found.document if found else None,
    )
    return [sheet.svg for sheet in sheets]


def reasons_of(found: Judged) -> list[dict[str, Any]]:
    """What was found on each segment, and why it matters: outcomes, sentences, grounds."""
    on = found.evaluation.ruleset.on
    return [
        {
            "ident": run.id,
            "outcomes": _outcomes(found, run.id),
            "reasons": _once(reason_pack(finding, on) for finding in blocking_of(found, run.id)),
        }
        for run in found.document.segments
        if blocking_of(found, run.id)
    ]


def after_of(quote: Quote, proposed: Judged) -> list[dict[str, Any]]:
    """What rules say of the proposal, what they cannot tell and why, and advice."""
    on = proposed.evaluation.ruleset.on
    kept = set(quote.proposed.segments.filter(kept=True).values_list("ident", flat=True))
    return [
        {
            "ident": run.id,
            "kept": run.id in kept,
            "outcomes": _outcomes(proposed, run.id),
            "unknown": _once(reason_pack(finding, on) for finding in _unknown(proposed, run.id)),
            "advice": [reason_pack(finding, on) for finding in _advice(proposed, run.id)],
        }
        for run in proposed.document.segments
    ]


def _once(reasons: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Each reason once: two ends of a hose often fail alike."""
    kept: list[dict[str, Any]] = []
    for reason in reasons:
        if reason not in kept:
            kept.append(reason)
    return kept


def _unknown(judged: Judged, subject: str) -> list[Finding]:
    """What could not be told of one segment, and counts: law before practice."""
    found = [
        finding
        for finding in judged.evaluation.findings
        if finding.subject == subject and finding.outcome == CANNOT_TELL and not finding.advice
    ]
    return sorted(found, key=lambda finding: finding.regime == PRACTICE)


def _advice(judged: Judged, subject: str) -> Iterable[Finding]:
    return (
        finding
        for finding in judged.evaluation.findings
        if finding.subject == subject and finding.advice and finding.outcome == "fail"
    )


def _outcomes(judged: Judged, ident: str) -> dict[str, str]:
    outcomes = judged.evaluation.segment(ident).outcomes
    return {regime: outcomes.get(regime, "not_applicable") for regime in (LAW, EPA, PRACTICE)}


def _answer(judged: Judged, regime: str, applies: str) -> str:
    """Whether a body of law holds: "no" too where it says nothing of any of her lines."""
    outcomes = {run.outcomes.get(regime, "not_applicable") for run in judged.evaluation.segments}
    return "no" if outcomes == {"not_applicable"} else applies


def law_of(judged: Judged) -> list[dict[str, Any]]:
    """Whether each body of law reaches this boat, in words, with its citation."""
    return [
        {
            "name": str(LAW_NAMES[row.regime]),
            "word": str(APPLIES_WORDS[_answer(judged, row.regime, row.applies)]),
            "reason": text_pack(row.reason),
            "citation": row.citation,
        }
        for row in judged.evaluation.scope
        if row.regime in LAW_NAMES
    ]


def _option(option: QuoteOption, on: date) -> dict[str, Any]:
    return {
        "letter": option.letter,
        "title": option.title,
        "summary": option.summary,
        "recommended": option.recommended,
        "segments": list(option.segments),
        "hours": str(option.labor_hours),
        **{name: money_text(getattr(option, name)) for name in SUPPLIED},
        "left": [
            {"ident": ident, "reasons": _once(reason_pack(finding, on) for finding in findings)}
            for ident, findings in left_undone(option, on=on)
        ],
    }


def _group(group: Group) -> dict[str, Any]:
    return {
        "key": group.key,
        "title": group.title,
        "rows": [_row(row) for row in group.rows],
        "subtotals": {letter: money_text(sum_) for letter, sum_ in group.subtotals().items()},
    }


def _row(row: Row) -> dict[str, Any]:
    return {
        "kind": row.kind,
        "ref": row.ref,
        "words": row.words,
        "unit": row.unit,
        "price": f"{row.price.normalize():f}" if row.price is not None else "",
        "quantities": {k: quantity_text(q, row.unit) for k, q in row.quantities.items()},
        "amounts": {letter: money_text(amount) for letter, amount in row.amounts.items()},
    }


def _override(row: Override) -> dict[str, Any]:
    return {
        "subject": row.subject,
        "outcome": row.outcome,
        "law": row.regime != PRACTICE,
        "message": row.message,
        "reason": row.reason,
        "by": row.member.user.name,
        "rule": row.rule,
        "citation": citation_of(row.rule),
    }


def _not_seen(judged: Judged) -> list[str]:
    return [
        run.id
        for run in judged.document.segments
        if run.hose is not None and run.hose.condition == "not_seen"
    ]


def _percent(rate: Any) -> str:
    return f"{(rate * 100).normalize():f}"
