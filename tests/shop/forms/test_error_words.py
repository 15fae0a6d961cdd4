"""Every form of the shop: whatever is typed, what is wrong is said in the shop's words.

What counts as the framework's words is read from the framework itself: the messages of its form
fields, model fields and validators.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django import forms
from django.core import validators
from django.core.exceptions import ValidationError
from django.db import models
from django.http import QueryDict

from fuelsys.text import Text
from shop.forms.accounts import PasswordChangeForm, SignInForm
from shop.forms.base import FaceForm
from shop.forms.boats import BoatForm
from shop.forms.changeorders import ChangeForm
from shop.forms.completion import SignForm
from shop.forms.consents import ConsentForm, QuoteConsentForm
from shop.forms.days import day_field
from shop.forms.engines import EngineForm
from shop.forms.errorwords import OwnWords
from shop.forms.factgroups import groups_of
from shop.forms.facts import FactsForm, Subject
from shop.forms.hours import HoursForm
from shop.forms.invoices import CreditForm, InvoiceForm, LinesForm
from shop.forms.lots import ReelForm
from shop.forms.mails import ReminderForm
from shop.forms.measures import MeasuresForm, PartForm
from shop.forms.owner import OwnerAnswerForm
from shop.forms.payments import PaymentForm
from shop.forms.prices import ProductForm as PriceForm
from shop.forms.proposals import AccessForm, HoseForm, ProductForm
from shop.forms.quotes import OptionForm
from shop.forms.readings import ReadingForm
from shop.forms.rules import PracticeForm
from shop.forms.surveys import SurveyForm
from shop.forms.work import ItemForm, StepForm, TickForm
from shop.invoicing import Owed
from shop.models import Member, Product, Segment, Yard
from shop.pricing import Line, LineKind
from shop.selectors.items import Item
from shop.selectors.measures_page import MeasuredPart
from shop.selectors.rule_numbers import OwnNumber
from shop.urls import urlpatterns
from shop.work.judging import GROUND, LEAK, RUN, VACUUM, VAPOR, Asked
from shop.work.safe import STEPS, Step
from tests.shop.quoting import Shop

pytestmark = pytest.mark.django_db

Make = Callable[[Mapping[str, str] | None], forms.BaseForm]

BAD = (
    "", " ", "x", "-1", "0", "1e9", "99999999999999", "1.23456789", "31.12.99", "2199-99-99",
    "25:99", "ann@", "1/0", "NaN", "x" * 5000, "A\0B", "12 34 56",
)  # fmt: skip
LINE = Line(1, LineKind.PART, "X-1", "Test part", Decimal(2), "ea", Decimal(1), Decimal(2),
            is_taxable=True, group="")  # fmt: skip
VALVE = Item("C.1", LineKind.PART, "PART", "Valve", Decimal(1), "ea", pick_ups=("P1", "P2"))
# Bases without fields of their own, and forms whose fields come from their makers below.
BARE = {FaceForm, LinesForm}
assert urlpatterns  # every view, and with it every form, is imported


def makers(shop: Shop) -> dict[type[forms.BaseForm], list[Make]]:
    """How each form that needs more than data is made."""
    yard: Yard = shop.lead.yard
    products = list(Product.objects.filter(yard=yard)[:3])
    rows = list(Segment.objects.filter(state=shop.proposed))
    consent: dict[str, Any] = {"choices": [("A", "A")], "time_zone": "America/New_York"}
    asked = [Asked(f"{kind}:T1", kind, "T1", Text("A test")) for kind in
             (LEAK, GROUND, VACUUM, VAPOR, RUN)]  # fmt: skip
    return {
        SignInForm: [lambda data: SignInForm(None, data)],
        PasswordChangeForm: [lambda data: PasswordChangeForm(shop.lead.user, data)],
        BoatForm: [lambda data: BoatForm(data, yard=yard)],
        ChangeForm: [lambda data: ChangeForm(data, products=products, segments=[("S1", "S1")])],
        ConsentForm: [lambda data: ConsentForm(data, **consent)],
        QuoteConsentForm: [lambda data: QuoteConsentForm(data, **consent)],
        EngineForm: [lambda data: EngineForm(data, compartments=("ENGINE",))],
        HoursForm: [lambda data: HoursForm(data, yard=yard)],
        InvoiceForm: [lambda data: InvoiceForm(data, lines=[LINE], done={})],
        CreditForm: [lambda data: CreditForm(data, owed=[Owed(LINE)])],
        ReelForm: [lambda data: ReelForm(data, yard=yard)],
        OwnerAnswerForm: [lambda data: OwnerAnswerForm(data, letters=["A"])],
        PriceForm: [lambda data: PriceForm(data, yard=yard)],
        AccessForm: [lambda data: AccessForm(data, rows=rows, classes=yard.access_classes.all())],
        HoseForm: [lambda data: HoseForm(data, products=products, clamps=products)],
        ProductForm: [lambda data: ProductForm(data, products=products)],
        OptionForm: [lambda data: OptionForm(data, segments=rows, parts=products)],
        SurveyForm: [lambda data: SurveyForm(data, today=date(2026, 11, 25))],
        TickForm: [
            lambda data: TickForm(data, reels=[], from_reel=True, run_in=Decimal(70), clamped=True)
        ],
        PaymentForm: [
            lambda data: PaymentForm(data, owed=Decimal(636), back=Decimal(0), received=Decimal(0))
        ],
        SignForm: [lambda data: SignForm(data, is_stopped=True)],
        ReminderForm: [lambda data: ReminderForm(data, due_on=date(2027, 11, 25))],
        ItemForm: [lambda data: ItemForm(data, item=VALVE)],
        StepForm: [step_maker(step) for step in STEPS],
        ReadingForm: [reading_maker(each) for each in asked],
        FactsForm: [facts_maker(kind, part) for kind, part in SUBJECTS],
        PracticeForm: [
            lambda data: PracticeForm(data, own=None),
            lambda data: PracticeForm(data, own=OwnNumber("", "years", "", "")),
        ],
        PartForm: [measured_maker(part) for part in MEASURED],
        MeasuresForm: [lambda data: measures_of(data, MEASURED)],
    }


SUBJECTS = (
    ("segment", ""), ("compartment", ""), ("tank", ""), ("engine", ""), ("fuel", ""), ("boat", ""),
    ("component", "withdrawal"), ("component", "filter"), ("component", "deck_fill"),
)  # fmt: skip


def step_maker(step: Step) -> Make:
    return lambda data: StepForm(data, step=step)


def reading_maker(asked: Asked) -> Make:
    return lambda data: ReadingForm(data, asked=asked)


def facts_maker(kind: str, part: str) -> Make:
    subject = Subject(kind, "X1", {"id": "X1"}, {}, f"{kind}s[X1]")

    def make(data: Mapping[str, str] | None) -> forms.BaseForm:
        sent = None
        if data is not None:
            sent = QueryDict(mutable=True)
            sent.update(dict(data))
        return FactsForm(sent, subject=subject, groups=groups_of(kind, part), names={})

    return make


MEASURED = tuple(
    MeasuredPart(kind, "X1", "X1", "", {"id": "X1"}, f"{kind}s[X1]")
    for kind in ("tank", "component", "segment")
)


def measures_of(data: Mapping[str, str] | None, parts: Sequence[MeasuredPart]) -> MeasuresForm:
    """The table of parts with the same typed in every entry that it draws."""
    if data is None:
        return MeasuresForm(None, parts=parts, today=None)
    typed = next(iter(data.values()), "x")
    sent = QueryDict(mutable=True)
    drawn = MeasuresForm(None, parts=parts, today=None)
    sent.update({part.add_prefix(name): typed for part in drawn.parts for name in part.fields})
    return MeasuresForm(sent, parts=parts, today=None)


def measured_maker(part: MeasuredPart) -> Make:
    return lambda data: measures_of(data, [part]).parts[0]


def every_form() -> set[type[forms.BaseForm]]:
    found: set[type[forms.BaseForm]] = set()
    todo: list[type[forms.BaseForm]] = [OwnWords]
    while todo:
        kinds = todo.pop().__subclasses__()
        found |= set(kinds)
        todo += kinds
    return {kind for kind in found if kind.__module__.startswith("shop.")} - BARE


def framework_patterns() -> list[re.Pattern[str]]:
    said: set[str] = set()
    for kind in (*vars(forms).values(), *vars(models).values()):
        said |= {str(words) for words in getattr(kind, "default_error_messages", {}).values()}
    for kind in vars(validators).values():
        words = getattr(kind, "message", None)
        said |= {str(words)} if words and isinstance(kind, type) else set()
    said |= {"Ensure %(more)s", "Enter %(more)s", "This field %(more)s", "Select %(more)s"}
    parts = [re.split(r"%\(\w+\)[sd]", words) for words in said if len(words) > 6]
    return [re.compile(".*".join(map(re.escape, each)), re.DOTALL) for each in parts]


FRAMEWORK = framework_patterns()


def foreign_words(form: forms.BaseForm) -> Iterator[str]:
    """Errors of a form that are the framework's, or hold a place that nothing filled."""
    for name, errors in form.errors.get_json_data().items():
        for error in errors:
            words = error["message"]
            if "%(" in words or any(pattern.fullmatch(words) for pattern in FRAMEWORK):
                yield f"{type(form).__name__}.{name}: {words[:90]}"


def test_every_form_speaks_for_itself(shop: Shop) -> None:
    made = makers(shop)
    faults: set[str] = set()
    refused = 0
    for kind in every_form():
        for make in made.get(kind, [kind]):
            names = list(make(None).fields)
            for typed in BAD:
                form = make(dict.fromkeys(names, typed))
                faults |= set(foreign_words(form))
                refused += sum(len(said) for said in form.errors.values())
    assert faults == set()
    assert refused > 2000  # the check has looked at something


class Foreign(forms.Form):
    """Says everything in the framework's words."""

    number = forms.IntegerField(min_value=5)
    share = forms.DecimalField(max_digits=3)
    day = forms.DateField()


def test_the_check_finds_the_framework_s_words() -> None:
    found = [
        words
        for typed in ("", "x", "1", "12345")
        for words in foreign_words(Foreign(dict.fromkeys(("number", "share", "day"), typed)))
    ]
    assert len(found) >= 8


class Half(FaceForm):
    """Its own words hold what was typed; a bare field has none."""

    own = day_field("Day")
    bare = forms.IntegerField(min_value=5, label="Bare")


def test_what_was_typed_stands_in_the_words() -> None:
    errors = Half({"own": "soon", "bare": "many"}).errors
    assert errors["own"] == ["“soon” is not a day. Write it as 2026-09-18."]
    assert errors["bare"] == ["“many” is not a whole number. Write it as 12."]
    assert Half({"own": "", "bare": "3"}).errors == {
        "own": ["Day is empty. It is needed."],
        "bare": ["3 is too little: 5 is the least that fits here."],
    }


def test_what_a_stored_row_refuses_is_reworded(shop: Shop) -> None:
    form = Half({"own": "2026-09-18", "bare": "7"})
    assert form.is_valid()
    member = Member(yard=shop.lead.yard, user=shop.lead.user, role="x" * 60)
    with pytest.raises(ValidationError) as refused:
        member.full_clean()
    form.take_service_errors(refused.value)
    assert list(foreign_words(form)) == []
