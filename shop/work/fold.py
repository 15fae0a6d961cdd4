"""Folding events into the state of a job: observed-remove, whatever their order.

What takes back (untick, resume, a reading that replaces another) works only on the events it
names. What counts is therefore a set, the same for every order of arrival. Where several count,
which is shown first or last is `in_sequence`: what one device recorded reads as it was recorded,
however it came. Each group is placed by itself, so that nothing beside it moves it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from fuelsys.text import Text
from shop.work.model import Event, Folded, Review, SegmentWork
from shop.work.precedence import in_sequence
from shop.work.safe import is_stop

# What each kind takes back when it names it, on its own segment and of its own test. Notes and
# photos are never taken back.
TAKES_BACK = {
    "untick": ("tick", "step", "fuel"),
    "resume": ("defer",),
    "reading": ("reading",),
}

BOTH = Text("{one} marked {segment} as done; {other} took back another tick without seeing it.")
FITTED_AND_DEFERRED = Text("{one} marked {segment} as done; {other} put it off.")
TWO_PIECES = Text("{one} and {other} fitted {segment} with different pieces of hose.")


def fold(events: Iterable[Event], idents: Sequence[str] = ()) -> Folded:
    """What the events say; segments in the order of `idents`, others after them."""
    all_events = tuple(events)
    decisions = [event for event in all_events if event.kind == "decide" and not event.held]
    accepted = _decided(decisions, accept=True)
    counted = [e for e in all_events if not e.held or e.key in accepted]
    held = [e for e in all_events if e.held and e.key not in accepted]
    aside = _decided(decisions, accept=False)
    live = _live(counted)
    names = [*idents, *sorted({e.segment for e in counted if e.segment} - set(idents))]
    segments = {name: _segment(name, counted, live) for name in names}
    kept = {event.key for event in live}
    return Folded(
        segments=segments,
        steps=_by(live, "step", lambda event: str(event.payload.get("step", ""))),
        fuel=in_sequence(event for event in live if event.kind == "fuel"),
        readings=_by(live, "reading", _test),
        replaced=_by((e for e in counted if e.key not in kept), "reading", _test),
        waivers=_by(live, "waive", _test),
        notes=in_sequence(e for e in live if e.kind == "note" and not e.segment),
        reviews=_open(_reviews(segments), decisions),
        held=in_sequence(event for event in held if event.key not in aside),
        set_aside=in_sequence(event for event in held if event.key in aside),
    )


def _decided(decisions: Iterable[Event], *, accept: bool) -> set[str]:
    """Keys decided this way. Where leads decided both ways, taking into the record wins."""
    return {k for d in decisions if d.payload.get("accept") is accept for k in d.named}


def _live(counted: Sequence[Event]) -> list[Event]:
    """The events that still count: none that another one of the right kind names.

    A make-safe reading too high is never taken back: it is answered by a later one.
    """
    gone = {
        (key, kind, event.segment, _test(event))
        for event in counted
        for kind in TAKES_BACK.get(event.kind, ())
        for key in event.named
    }
    return [e for e in counted if is_stop(e) or (e.key, e.kind, e.segment, _test(e)) not in gone]


def _segment(ident: str, counted: Sequence[Event], live: Sequence[Event]) -> SegmentWork:
    mine = [event for event in live if event.segment == ident]
    ever = [event for event in counted if event.segment == ident]
    kept = {event.key for event in mine}

    def of(kind: str, events: Iterable[Event] = mine) -> tuple[Event, ...]:
        return in_sequence(event for event in events if event.kind == kind)

    return SegmentWork(
        ident=ident,
        ticks=of("tick"),
        taken_back=of("tick", (event for event in ever if event.key not in kept)),
        unticks=of("untick"),
        deferrals=of("defer"),
        starts=of("start"),
        notes=of("note"),
        photos=of("photo"),
    )


def _by(
    live: Iterable[Event], kind: str, name: Callable[[Event], str]
) -> dict[str, tuple[Event, ...]]:
    groups: dict[str, list[Event]] = {}
    for event in live:
        if event.kind == kind:
            groups.setdefault(name(event), []).append(event)
    return {key: in_sequence(groups[key]) for key in sorted(groups)}


def _test(event: Event) -> str:
    return str(event.payload.get("test", ""))


def _reviews(segments: dict[str, SegmentWork]) -> list[Review]:
    found: list[Review] = []
    for ident, work in segments.items():
        for tick in work.ticks:
            found += [_review(BOTH, ident, tick, u) for u in work.unticks if _apart(tick, u)]
            found += [_review(FITTED_AND_DEFERRED, ident, tick, d) for d in work.deferrals]
        found += _two_pieces(ident, work.ticks)
    return found


def _two_pieces(ident: str, ticks: Iterable[Event]) -> list[Review]:
    """Ticks that name different pieces: one for each piece, the same ones in every order."""
    pieces: dict[tuple[str, str], Event] = {}
    for tick in sorted(ticks, key=lambda event: event.key):
        pieces.setdefault(_piece(tick), tick)
    different = list(pieces.values())
    return [_review(TWO_PIECES, ident, different[0], other) for other in different[1:]]


def _apart(tick: Event, untick: Event) -> bool:
    """Whether an active tick and an untick were made without sight of each other."""
    return tick.key not in untick.named and untick.key not in tick.after


def _piece(tick: Event) -> tuple[str, str]:
    return str(tick.payload.get("reel", "")), str(tick.payload.get("cut_in", ""))


def _review(message: Text, ident: str, one: Event, other: Event) -> Review:
    params = {"segment": ident, "one": one.author, "other": other.author}
    return Review(ident, (one, other), Text(message.msgid, params))


def _open(reviews: Iterable[Review], decisions: Sequence[Event]) -> tuple[Review, ...]:
    """Reviews that no lead has decided."""
    settled = [decision.named for decision in decisions]
    return tuple(r for r in reviews if not any(r.keys <= named for named in settled))


def projection(folded: Folded) -> dict[str, object]:
    """What counts, without the order in which it is shown: equal for every order of arrival."""
    return {
        "segments": {
            ident: {
                "state": work.state,
                **{name: _keys(getattr(work, name)) for name in _SETS},
            }
            for ident, work in sorted(folded.segments.items())
        },
        "steps": {name: _keys(events) for name, events in folded.steps.items()},
        "fuel": _keys(folded.fuel),
        "readings": {name: _keys(events) for name, events in folded.readings.items()},
        "replaced": {name: _keys(events) for name, events in folded.replaced.items()},
        "waivers": {name: _keys(events) for name, events in folded.waivers.items()},
        "notes": _keys(folded.notes),
        "reviews": sorted(sorted(review.keys) for review in folded.reviews),
        "held": _keys(folded.held),
        "set_aside": _keys(folded.set_aside),
    }


_SETS = ("ticks", "taken_back", "unticks", "deferrals", "starts", "notes", "photos")


def _keys(events: Iterable[Event]) -> list[str]:
    return sorted(event.key for event in events)
