"""A work order as its pages show it: the steps of the day, the segments, the tests."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext
from django.utils.translation import gettext as _

from shop.cautions import Caution, cautions_for
from shop.drawing import draw_profile
from shop.models import Completion, Recall, Reel, WorkOrder, WorkOrderStatus
from shop.numbering import local_day
from shop.selectors.authorized import Planned, authorized_judged, planned_work
from shop.selectors.blockers import DONE, completion_blockers
from shop.selectors.completion_snapshot import fuel_sums
from shop.selectors.consented import wants_old_parts
from shop.selectors.evaluations import Judged
from shop.selectors.fitted import Fitted, fitted_segments
from shop.selectors.folding import work_folded
from shop.selectors.items import ItemWork, items_work, planned_items
from shop.selectors.lots import reels_for
from shop.selectors.paper_parts import fuels_of
from shop.selectors.smells import Told, smells_told, stop_standing
from shop.selectors.trials import work_trials
from shop.work.judging import Trial
from shop.work.model import Folded
from shop.work.safe import STEPS, Step, steps_left

LEAST_PIECE_IN = Decimal("0.01")


@dataclass(frozen=True)
class Stage:
    """One named step of the day, as the row above every work page shows it."""

    key: str
    name: str
    word: str
    url: str
    is_done: bool
    is_here: bool


@dataclass(frozen=True)
class CalledBack:
    """A lot that is being called back, with every segment that carries it."""

    recall: Recall
    idents: tuple[str, ...]


@dataclass(frozen=True)
class WorkPage:
    work_order: WorkOrder
    plan: dict[str, Planned]
    folded: Folded
    segments: list[Fitted]
    items: list[ItemWork]
    tests: tuple[Trial, ...]
    judged: Judged
    stop: str

    @property
    def is_open(self) -> bool:
        return self.work_order.status == WorkOrderStatus.OPEN

    @property
    def steps_left(self) -> tuple[Step, ...]:
        return steps_left(self.folded.steps)

    @property
    def is_safe(self) -> bool:
        return not self.steps_left

    @property
    def blockers(self) -> list[str]:
        return completion_blockers(self.folded, self.plan, self.tests, self.items)

    @property
    def smells(self) -> list[Told]:
        """What a lead reads before the mark is lifted."""
        return smells_told(stop_standing(self.work_order.job.hull))

    @property
    def old_parts_back(self) -> bool:
        return wants_old_parts(self.work_order.job)

    @property
    def completion(self) -> Completion | None:
        return Completion.objects.filter(work_order=self.work_order).first()

    @property
    def called_back(self) -> list[Fitted]:
        """What is fitted of a lot that is being called back."""
        return [part for part in self.segments if part.recall]

    @property
    def lots_called_back(self) -> list[CalledBack]:
        """Each of those lots once, in the order of the drawing."""
        recalls = {part.recall.pk: part.recall for part in self.called_back if part.recall}
        return [
            CalledBack(recall, tuple(p.ident for p in self.called_back if p.recall == recall))
            for recall in recalls.values()
        ]

    def segment(self, ident: str) -> Fitted | None:
        return next((part for part in self.segments if part.ident == ident), None)

    @property
    def parts(self) -> list[Fitted | ItemWork]:
        return [*self.segments, *self.items]

    def item(self, ident: str) -> ItemWork | None:
        return next((each for each in self.items if each.ident == ident), None)

    def next_ident(self, after: str = "") -> str | None:
        """The next segment that is neither fitted nor put off, in the order of the drawing; then
        the parts and the work that stand beside them."""
        idents = [part.ident for part in self.parts]
        turn = idents.index(after) + 1 if after in idents else 0
        waiting = [i for i in idents[turn:] + idents[:turn] if self._is_waiting(i)]
        return waiting[0] if waiting else None

    def _is_waiting(self, ident: str) -> bool:
        return self.folded.segment(ident).state not in DONE

    @property
    def next_url(self) -> str:
        """Where the work goes on."""
        pk = self.work_order.pk
        if not self.is_safe:
            return reverse("work_safe", args=[pk])
        ident = self.next_ident()
        if ident is not None:
            return reverse("work_segment", args=[pk, ident])
        if any(trial.state in ("missing", "failed") for trial in self.tests):
            return reverse("work_tests", args=[pk])
        return reverse("work_complete", args=[pk])


def work_page(work_order: WorkOrder, *, at: datetime) -> WorkPage:
    on = local_day(at, work_order.yard.time_zone)
    plan, folded = planned_work(work_order), work_folded(work_order)
    judged = authorized_judged(work_order, on=on)
    items = planned_items(work_order)
    stop = stop_standing(work_order.job.hull)
    return WorkPage(
        work_order=work_order,
        plan=plan,
        folded=folded,
        segments=fitted_segments(work_order, plan, judged.document, folded),
        items=items_work(items, folded),
        tests=work_trials(work_order, folded, plan, items, on=on),
        judged=judged,
        stop=stop.reason if stop else "",
    )


def stages(page: WorkPage, here: str) -> list[Stage]:
    """The steps of the day in words; `here` is "safe", "fuel", "tests", "record" or a segment."""
    pk = page.work_order.pk
    return [
        Stage(
            "safe", _("Safe"), _safe_word(page), reverse("work_safe", args=[pk]), page.is_safe,
            here == "safe",
        ),
        Stage(
            "fuel", _("Fuel"), _fuel_word(page.folded), reverse("work_fuel", args=[pk]),
            bool(page.folded.fuel), here == "fuel",
        ),
        *(_segment_stage(page, part, here) for part in page.parts),
        Stage(
            "tests", _("Tests"), _tests_word(page), reverse("work_tests", args=[pk]),
            not _untested(page), here == "tests",
        ),
        Stage(
            "record", _("Record"), _("to sign") if page.is_open else _("signed"),
            reverse("work_complete", args=[pk]), not page.is_open, here == "record",
        ),
    ]  # fmt: skip


def _segment_stage(page: WorkPage, part: Fitted | ItemWork, here: str) -> Stage:
    url = reverse("work_segment", args=[page.work_order.pk, part.ident])
    is_here = here == part.ident
    word = _("now") if is_here and part.work.state not in DONE else part.word.lower()
    if isinstance(part, Fitted) and part.recall:
        word = _("called back")
    return Stage(part.ident, part.ident, word, url, part.work.state in DONE, is_here)


def _safe_word(page: WorkPage) -> str:
    left = page.steps_left
    done = {"done": len(STEPS) - len(left), "all": len(STEPS)}
    return _("%(done)s of %(all)s") % done if left else _("done")


def _fuel_word(folded: Folded) -> str:
    if not folded.fuel:
        return _("to count")
    gallons = fuel_sums(folded.fuel)["moved_gal"]
    return _("%(gallons)s gal") % {"gallons": f"{gallons.normalize():f}"}


def _untested(page: WorkPage) -> list[Trial]:
    return [trial for trial in page.tests if trial.state in ("missing", "failed")]


def _tests_word(page: WorkPage) -> str:
    left = len(_untested(page))
    done = {"done": len(page.tests) - left, "all": len(page.tests)}
    return _("%(done)s of %(all)s") % done if left else _("done")


def reels_offered(page: WorkPage, part: Fitted) -> list[tuple[Reel, Decimal]]:
    """Reels that hold a whole piece of the suggested length."""
    product = part.planned.product
    if product is None or not part.planned.from_reel:
        return []
    wanted = part.suggested_in or LEAST_PIECE_IN
    return reels_for(yard=page.work_order.yard, sku=product.sku, length_in=wanted)


def work_cautions(page: WorkPage) -> tuple[Caution, ...]:
    """Those shown before work on this boat."""
    return cautions_for("T", fuels_of(page.judged.document))


def route_figure(page: WorkPage, ident: str) -> dict[str, SafeString] | None:
    """The heights of one run, for a tablet and for a phone; None without a route."""
    run = next((each for each in page.judged.document.segments if each.id == ident), None)
    if run is None or not run.route:
        return None
    sizes = ("desk", "phone")
    document = page.judged.document
    drawn = {
        size: draw_profile(document, ident, None, size=size, strings=gettext, with_curve=False)
        for size in sizes
    }
    # Every text in a drawing is escaped by shop.drawing.
    return {size: mark_safe(drawing.svg) for size, drawing in drawn.items()}  # noqa: S308
