"""What a correction changed, and what that did: worked out from the record, not remembered."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fuelsys.document import InputProblems
from fuelsys.evaluation import Evaluation
from fuelsys.text import Figure, Text
from fuelsys.units import from_base, label
from shop.factwords import CHOICE_WORDS, choice_words, key_words, stem_of
from shop.models import FactChange, SubjectKind, SystemState
from shop.selectors.carried import Carried
from shop.selectors.evaluations import Judged, document_judged
from shop.selectors.subjects import subject_facts
from shop.selectors.unseen import as_seen
from shop.services.facts import fact_get, fact_undo_edit, steps

MOST_SAID = 3
PRACTICE = "practice"
OUTCOME_WORDS = {
    "pass": gettext_lazy("pass"),
    "fail": gettext_lazy("fail"),
    "review": gettext_lazy("review"),
    "cannot_tell": gettext_lazy("cannot tell"),
    "not_applicable": gettext_lazy("not applicable"),
}


@dataclass(frozen=True)
class ChangeStrip:
    """One act of correction: what was set, what it did, and whether it can be taken back."""

    pk: int
    said: tuple[str, ...]
    more: int
    effects: tuple[Text, ...]
    is_undo: bool
    can_undo: bool


def change_strip(
    changes: Sequence[FactChange],
    *,
    judged: Judged,
    state: SystemState,
    on: date,
    carried: Carried | None = None,
) -> ChangeStrip | None:
    """The strip of the changes of one act in one state, the newest first; None without any.

    Grades that are `carried` over pass nothing in `judged`, nor do they in what was before.
    """
    own = [change for change in changes if change.state_id == state.pk]
    if not own:
        return None
    # As they were typed; an undo goes the other way round.
    ordered = own if own[0].undoes_id is not None else own[::-1]
    spoken = [change for change in ordered if change.key not in UNSAID]
    said = [change_words(change) for change in spoken or ordered]
    before = judged_before(own, judged=judged, state=state, on=on)
    was = as_seen(before, carried).evaluation if before else None
    effects = effects_between(was, judged.evaluation) if was else []
    newest = own[0]
    undone = any(getattr(change, "undone_by", None) is not None for change in own)
    return ChangeStrip(
        newest.pk,
        tuple(said[:MOST_SAID]),
        max(0, len(said) - MOST_SAID),
        tuple(effects),
        is_undo=newest.undoes_id is not None,
        can_undo=newest.undoes_id is None and not undone,
    )


# Bookkeeping that goes along with a product; the product itself is said.
UNSAID = frozenset({"kept", "clamp_sku", "route_unit"})


def change_words(change: FactChange) -> str:
    """One change in words: "Length of S3 set to 64 in"."""
    whose = {SubjectKind.BOAT: _("the boat"), SubjectKind.FUEL: _("the fuel")}.get(
        SubjectKind(change.subject_kind), change.ident
    )
    said = {"fact": key_words(change.key), "whose": whose, "value": value_words(change)}
    end = next((e for e in ("from_end", "to_end") if change.key.startswith(f"{e}.")), "")
    if end:
        said["whose"] = _("%(whose)s, %(end)s") % {"whose": whose, "end": key_words(end).lower()}
    if change.value is None:
        return _("%(fact)s of %(whose)s taken out") % said
    if change.value == change.previous and change.key == change.previous_key:
        if change.undoes_id is not None:
            return _("%(fact)s of %(whose)s no longer confirmed") % said
        return _("%(fact)s of %(whose)s seen, still %(value)s") % said
    if isinstance(change.value, dict | list) and not said["value"]:
        return _("%(fact)s of %(whose)s set anew") % said
    return _("%(fact)s of %(whose)s set to %(value)s") % said


def value_words(change: FactChange) -> str:
    return fact_value_words(change.key, change.value)


def fact_value_words(key: str, value: Any) -> str:
    """A value as people write it, with its unit; nothing for what takes more than a few words."""
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, list):
        plain = [_choice(item, key) for item in value if isinstance(item, str)]
        return ", ".join(plain) if len(plain) == len(value) else ""
    if isinstance(value, dict):
        return str(value.get("class", "")) if key == "hose" else ""
    if isinstance(value, str) and not value[:1].isdigit():
        return _choice(value, key)
    unit = _unit_of(key)
    return f"{value} {unit}" if unit else str(value)


def _choice(value: str, key: str) -> str:
    """A known word stands in the middle of a sentence; a name or a type is left as it is."""
    words = choice_words(value, key)
    return words.lower() if value in CHOICE_WORDS else words


def _unit_of(key: str) -> str:
    last = steps(key)[-1]
    suffix = str(last).removeprefix(stem_of(key)).lstrip("_")
    return label(suffix) if suffix else ""


def judged_before(
    changes: Sequence[FactChange], *, judged: Judged, state: SystemState, on: date
) -> Judged | None:
    """The state as it was before, judged; None where a fact has been changed again since."""
    source = copy.deepcopy(dict(judged.source))
    for change in changes:
        facts = subject_facts(source, change.subject_kind, change.ident)
        if facts is None or change.key in COLUMN_KEYS:
            continue
        if fact_get(facts, change.key) != change.value:
            return None
        fact_undo_edit(facts, change.key, change.previous_key, change.previous)
    try:
        return document_judged(source, yard=state.hull.yard, on=on)
    except InputProblems:
        return None


COLUMN_KEYS = frozenset(
    {"name", "access", "clips", "note", "lot", "product_sku", "clamp_sku", "kept"}
)


def effects_between(before: Evaluation, after: Evaluation) -> list[Text]:
    """What one evaluation says otherwise than another of the same boat, segment by segment."""
    earlier = {result.id: result for result in before.segments}
    effects: list[Text] = []
    for result in after.segments:
        was = earlier.get(result.id)
        if was is None:
            continue
        volume = result.discharge.volume_m3 if result.discharge else None
        volume_was = was.discharge.volume_m3 if was.discharge else None
        if volume is not None and not _same(volume, volume_was):
            floz = Figure(from_base(volume, "floz"), "floz", computed=True)
            params = {"segment": result.id, "volume": floz}
            effects.append(Text(_("{segment} runs out: {volume}."), params))
        effects += [
            Text(_("{segment}, {whose}: {was} to {now}."), words)
            for words in _outcomes_changed(result.id, was.outcomes, result.outcomes)
        ]
    return effects


def _outcomes_changed(
    ident: str, was: Mapping[str, str], now: Mapping[str, str]
) -> list[dict[str, Any]]:
    return [
        {
            "segment": ident,
            "whose": _("practice") if regime == PRACTICE else regime_short(regime),
            "was": str(OUTCOME_WORDS[was.get(regime, "not_applicable")]),
            "now": str(OUTCOME_WORDS[outcome]),
        }
        for regime, outcome in now.items()
        if was.get(regime, "not_applicable") != outcome
    ]


def regime_short(regime: str) -> str:
    """A body of rules in two words, for a line of a strip or the head of a column."""
    return {
        "33-cfr-183": _("law"),
        "33-cfr-183-k": _("ventilation law"),
        "40-cfr-1060": _("EPA"),
        "practice": _("practice"),
        "46-cfr-25": _("46 CFR 25"),
        "33-cfr-177": _("33 CFR 177"),
        "40-cfr-80": _("40 CFR 80"),
        "ca": _("Canada"),
        "eu": _("EU"),
    }.get(regime, regime)


def _same(one: float, other: float | None) -> bool:
    return other is not None and abs(one - other) <= 1e-12
