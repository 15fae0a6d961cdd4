"""The yard's pages: make safe, count fuel, one segment at a time, tests. Each act is an event."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from http import HTTPStatus
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.access import ABSENT, may, workorder_get
from shop.exceptions import Refused
from shop.forms.base import FaceForm
from shop.forms.readings import ReadingForm
from shop.forms.work import (
    FuelForm,
    ItemForm,
    NoteForm,
    ReasonForm,
    StepForm,
    TickForm,
)
from shop.http import MemberRequest
from shop.selectors.fitted import Fitted, hose_words, torque_range, torque_words
from shop.selectors.items import ItemWork
from shop.selectors.read_rows import earlier_rows, read_rows
from shop.selectors.work_page import (
    WorkPage,
    reels_offered,
    route_figure,
    stages,
    work_cautions,
    work_page,
)
from shop.services.events import desk_event
from shop.views.idempotent import idempotent
from shop.work.judging import Trial
from shop.work.model import Event
from shop.work.safe import STEPS, Step, confirmed, stopped_by

Next = Callable[[WorkPage], str]


@require_http_methods(["GET", "POST"])
@idempotent
def work_safe(request: MemberRequest, pk: int) -> HttpResponse:
    """The make-safe list, one step after another; none can be left out."""
    page = _page(request, pk)
    here = page.steps_left[0] if page.steps_left else None
    form = None
    if here is not None:
        form = StepForm(request.POST or None, step=here, initial={"step": here.key})
        if form.is_bound and form.is_valid():
            if form.cleaned_data["step"] != here.key:
                return redirect("work_safe", pk)
            to = page_url("work_safe")
            stops = [event.key for event in stopped_by(page.folded.steps.get(here.key, ()))]
            if done := _recorded(request, page, form, "step", form.payload(stops), to=to):
                return done
    rows = [_step_row(step, page.folded.steps.get(step.key, ())) for step in STEPS]
    refused = form is not None and form.is_bound
    context = {"rows": rows, "step_here": here, "cautions": work_cautions(page)}
    return _show(request, page, "work/safe.html", "safe", form, refused, **context)


def _step_row(
    step: Step, events: tuple[Event, ...]
) -> tuple[Step, tuple[Event, ...], tuple[Event, ...], bool]:
    """A step, who confirmed it, its readings too high, and whether one of them stops it now."""
    done = confirmed(events)
    return step, done, stopped_by(events), bool(events) and not done


@require_http_methods(["GET", "POST"])
@idempotent
def work_fuel(request: MemberRequest, pk: int) -> HttpResponse:
    """Gallons moved, kept and wasted."""
    page = _page(request, pk)
    form = FuelForm(request.POST or None)
    if form.is_bound and form.is_valid():
        to = page_url("job_next")
        if done := _recorded(request, page, form, "fuel", form.payload(), to=to):
            return done
    return _show(request, page, "work/fuel.html", "fuel", form, form.is_bound)


@require_POST
@idempotent
def fuel_undo(request: MemberRequest, pk: int) -> HttpResponse:
    page = _page(request, pk)
    names = [event.key for event in page.folded.fuel]
    return _act(request, page, "untick", {"names": names}, to=page_url("work_fuel"))


@require_GET
def work_segment(request: MemberRequest, pk: int, ident: str) -> HttpResponse:
    """One segment: what, where, how long, which reel, which clamps; the tick at the bottom."""
    page = _page(request, pk)
    part = _part(page, ident)
    if page.is_open and not page.is_safe:
        messages.info(request, _("First make the boat safe."))
        return redirect("work_safe", pk)
    return _segment(request, page, part, _tick_form(page, part), refused=False)


@require_POST
@idempotent
def segment_tick(request: MemberRequest, pk: int, ident: str) -> HttpResponse:
    """The segment is fitted. The next one opens."""
    page = _page(request, pk)
    part = _part(page, ident)
    form = _tick_form(page, part, request.POST)
    if not form.is_valid():
        return _segment(request, page, part, form, refused=True)
    seen = request.POST.get("seen", "").split()
    try:
        text = form.cleaned_data.get("text", "")
        _event(request, page, "tick", form.payload(seen), ident=ident, text=text)
    except Refused as error:
        form.add_error(None, str(error))
        return _segment(request, page, part, form, refused=True)
    following = page.next_ident(after=ident)
    return redirect(f"{_after(ident, following)(page)}?{urlencode({'done': ident})}")


@require_POST
@idempotent
def segment_untick(request: MemberRequest, pk: int, ident: str) -> HttpResponse:
    """Take back every tick that is shown."""
    page = _page(request, pk)
    names = [tick.key for tick in _part(page, ident).work.ticks]
    return _act(
        request, page, "untick", {"names": names}, ident, to=page_url("work_segment", ident)
    )


@require_POST
@idempotent
def segment_resume(request: MemberRequest, pk: int, ident: str) -> HttpResponse:
    page = _page(request, pk)
    names = [event.key for event in _part(page, ident).work.deferrals]
    return _act(
        request, page, "resume", {"names": names}, ident, to=page_url("work_segment", ident)
    )


@require_POST
@idempotent
def segment_start(request: MemberRequest, pk: int, ident: str) -> HttpResponse:
    page = _page(request, pk)
    _part(page, ident)
    return _act(request, page, "start", {}, ident, to=page_url("work_segment", ident))


@require_http_methods(["GET", "POST"])
@idempotent
def segment_defer(request: MemberRequest, pk: int, ident: str) -> HttpResponse:
    """Put a segment off, with the reason that the record prints."""
    page = _page(request, pk)
    part = _part(page, ident)
    form = ReasonForm(request.POST or None)
    if form.is_bound and form.is_valid():
        to = _after(ident, page.next_ident(after=ident))
        if done := _recorded(request, page, form, "defer", {}, ident, to=to):
            return done
    return _show(request, page, "work/defer.html", ident, form, form.is_bound, part=part)


@require_http_methods(["GET", "POST"])
@idempotent
def segment_note(request: MemberRequest, pk: int, ident: str) -> HttpResponse:
    page = _page(request, pk)
    part = _part(page, ident)
    form = NoteForm(request.POST or None)
    if form.is_bound and form.is_valid():
        to = page_url("work_segment", ident)
        if done := _recorded(request, page, form, "note", {}, ident, to=to):
            return done
    return _show(request, page, "work/note.html", ident, form, form.is_bound, part=part)


@require_GET
def work_tests(request: MemberRequest, pk: int) -> HttpResponse:
    """Every test the job needs, with its limit and what was read."""
    page = _page(request, pk)
    return _show(request, page, "work/tests.html", "tests", None, refused=False)


@require_http_methods(["GET", "POST"])
@idempotent
def work_test(request: MemberRequest, pk: int, key: str) -> HttpResponse:
    """One test: how, the limit, the reading. A new reading replaces those shown."""
    page = _page(request, pk)
    trial = _trial(page, key)
    form = ReadingForm(request.POST or None, asked=trial.asked)
    if form.is_bound and form.is_valid():
        replaced = [event.key for event, _judged in trial.readings]
        to = page_url("work_tests")
        if done := _recorded(request, page, form, "reading", form.payload(replaced), to=to):
            return done
    waive = ReasonForm(auto_id="id_waive_%s") if may(request.member, "work.decide") else None
    context = {
        "trial": trial,
        "waive": waive,
        "readings": tuple(read_rows(trial)),
        "earlier": tuple(earlier_rows(trial)),
    }
    return _show(request, page, "work/test.html", "tests", form, form.is_bound, **context)


@require_POST
@idempotent
def test_waive(request: MemberRequest, pk: int, key: str) -> HttpResponse:
    """A lead goes without one test, by name and with a reason that is printed."""
    page = _page(request, pk, "work.decide")
    trial = _trial(page, key)
    form = ReasonForm(request.POST, auto_id="id_waive_%s")
    if form.is_valid():
        payload, text = {"test": trial.asked.key}, form.cleaned_data["text"]
        return _act(request, page, "waive", payload, text=text, to=page_url("work_tests"))
    context = {
        "trial": trial,
        "waive": form,
        "readings": tuple(read_rows(trial)),
        "earlier": tuple(earlier_rows(trial)),
    }
    reading = ReadingForm(asked=trial.asked)
    return _show(request, page, "work/test.html", "tests", reading, refused=True, **context)


def page_url(name: str, *args: str) -> Next:
    """The page to open next, once it is known of which work order."""

    def url(page: WorkPage) -> str:
        if name == "job_next":
            return work_page(page.work_order, at=timezone.now()).next_url
        return reverse(name, args=[page.work_order.pk, *args])

    return url


def _after(ident: str, following: str | None) -> Next:
    """The next segment, or the tests when none waits any more."""
    if following is None or following == ident:
        return page_url("work_tests")
    return page_url("work_segment", following)


def _page(request: MemberRequest, pk: int, act: str = "") -> WorkPage:
    """The work order for who reads it; every act needs its own permission."""
    act = act or ("job.read" if request.method == "GET" else "work.write")
    return work_page(workorder_get(request.member, pk, act), at=timezone.now())


def _part(page: WorkPage, ident: str) -> Fitted | ItemWork:
    part = page.segment(ident) or page.item(ident)
    if part is None:
        raise Http404(ABSENT)
    return part


def _trial(page: WorkPage, key: str) -> Trial:
    found = next((trial for trial in page.tests if trial.asked.key == key), None)
    if found is None:
        raise Http404(ABSENT)
    return found


def _taken_back(part: Fitted) -> dict[str, Any]:
    """What the last tick said that was taken back: it is not typed a second time."""
    if not part.work.taken_back:
        return {}
    tick = part.work.taken_back[-1]
    names = ("reel", "cut_in", "torque_in_lb", "torque_why", "method")
    return {"text": tick.text, **{n: tick.payload[n] for n in names if n in tick.payload}}


def _tick_form(
    page: WorkPage, part: Fitted | ItemWork, data: Mapping[str, Any] | None = None
) -> TickForm | ItemForm:
    if isinstance(part, ItemWork):
        return ItemForm(data, item=part.item)
    suggested = part.suggested_in
    offered = {} if suggested is None else {"cut_in": f"{suggested.normalize():f}"}
    return TickForm(
        data,
        reels=reels_offered(page, part),
        from_reel=part.planned.from_reel,
        run_in=part.measured_in,
        clamped=bool(part.planned.clamp and part.clamps),
        torque_in_lb=torque_range(part.planned.clamp),
        initial={**offered, **_taken_back(part)},
    )


def _segment(
    request: MemberRequest,
    page: WorkPage,
    part: Fitted | ItemWork,
    form: TickForm | ItemForm,
    *,
    refused: bool,
) -> HttpResponse:
    if isinstance(part, ItemWork):
        return _show(request, page, "work/item.html", part.ident, form, refused, part=part)
    product, clamp = part.planned.product, part.planned.clamp
    context = {
        "part": part,
        "hose_mark": hose_words(product),
        "bend_in": product.facts.get("minimum_bend_radius_in") if product else None,
        "torque": torque_words(clamp),
        "route": route_figure(page, part.ident),
    }
    return _show(request, page, "work/segment.html", part.ident, form, refused, **context)


def _show(
    request: MemberRequest,
    page: WorkPage,
    template: str,
    here: str,
    form: FaceForm | None,
    refused: bool,
    **context: Any,
) -> HttpResponse:
    ident = request.GET.get("done", "")
    done = page.segment(ident) or page.item(ident)
    shared = {
        "page": page,
        "stages": stages(page, here),
        "may_work": page.is_open and may(request.member, "work.write"),
        "undo": done if done is not None and done.work.ticks else None,
        **context,
    }
    status = HTTPStatus.UNPROCESSABLE_ENTITY if refused else HTTPStatus.OK
    return render(request, template, {"form": form, **shared}, status=status)


def _recorded(
    request: MemberRequest,
    page: WorkPage,
    form: FaceForm,
    kind: str,
    payload: Mapping[str, Any],
    ident: str = "",
    *,
    to: Next,
) -> HttpResponse | None:
    """The next page; None where an open order refused: the form says why and keeps its words."""
    text = form.cleaned_data.get("text", "")
    try:
        return _act(request, page, kind, payload, ident, text=text, to=to)
    except Refused as error:
        if not page.is_open:
            raise
        form.add_error(None, str(error))
        return None


def _act(
    request: MemberRequest,
    page: WorkPage,
    kind: str,
    payload: Mapping[str, Any],
    ident: str = "",
    *,
    text: str = "",
    to: Next,
) -> HttpResponse:
    _event(request, page, kind, payload, ident=ident, text=text)
    return redirect(to(page))


def _event(
    request: MemberRequest,
    page: WorkPage,
    kind: str,
    payload: Mapping[str, Any],
    *,
    ident: str = "",
    text: str = "",
) -> None:
    desk_event(
        member=request.member,
        work_order=page.work_order,
        kind=kind,
        segment=ident,
        payload=payload,
        text=text,
        now=timezone.now(),
    )
