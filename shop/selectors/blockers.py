"""What keeps a completion record from being signed, each in words."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shop.selectors.items import ItemWork
from shop.texts import text_words
from shop.work.judging import Trial, is_outdated
from shop.work.model import DEFERRED, FITTED, Folded
from shop.work.safe import STEPS, steps_left


def completion_blockers(
    folded: Folded,
    idents: Collection[str],
    tests: Sequence[Trial],
    items: Sequence[ItemWork],
) -> list[str]:
    """Every reason, in the order of the work. Empty when the record may be signed."""
    return [
        *_safe(folded),
        *_fuel(folded),
        *(_segment(ident) for ident in idents if folded.segment(ident).state not in DONE),
        *(_item(each) for each in items if each.work.state not in DONE),
        *(text_words(review.message) for review in folded.reviews),
        *_held(folded),
        *(_test(trial) for trial in tests if trial.state in ("missing", "failed")),
    ]


DONE = (FITTED, DEFERRED)


def _safe(folded: Folded) -> list[str]:
    left = steps_left(folded.steps)
    if not left:
        return []
    return [_("Make safe: %(done)s of %(all)s steps are confirmed.") % _count(left)]


def _count(left: Collection[object]) -> dict[str, int]:
    return {"done": len(STEPS) - len(left), "all": len(STEPS)}


def _fuel(folded: Folded) -> list[str]:
    if folded.fuel:
        return []
    return [_("The fuel moved, kept and wasted is not counted. Write 0 where none was moved.")]


def _segment(ident: str) -> str:
    return _("%(segment)s is neither fitted nor put off.") % {"segment": ident}


def _item(each: ItemWork) -> str:
    said = {"item": each.ident, "words": each.label}
    if each.item.is_part:
        return _("%(item)s, %(words)s, is neither fitted nor put off.") % said
    return _("%(item)s, %(words)s, is neither done nor put off.") % said


def _held(folded: Folded) -> list[str]:
    count = len(folded.held)
    if not count:
        return []
    words = ngettext(
        "%(count)s record waits for a lead's decision.",
        "%(count)s records wait for a lead's decision.",
        count,
    )
    return [words % {"count": count}]


def _test(trial: Trial) -> str:
    title = text_words(trial.asked.title)
    if trial.state == "failed":
        return _("%(test)s does not hold. Mend it and test again.") % {"test": title}
    late = next((judged for _event, judged in trial.readings if is_outdated(judged)), None)
    if late is not None:
        said = {"test": title, "late": text_words(late.message), "what": text_words(late.notes[0])}
        return _("%(test)s: %(late)s %(what)s Or a lead waives it.") % said
    if trial.lapsed is not None:
        said = {"test": title, "why": text_words(trial.lapsed[1])}
        return _("%(test)s: %(why)s Test, or a lead waives it again.") % said
    if trial.readings:
        return _("%(test)s says nothing as it was read. Test again, or a lead waives it.") % {
            "test": title
        }
    return _("%(test)s is neither recorded nor waived by a lead.") % {"test": title}
