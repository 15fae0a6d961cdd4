"""The start of a survey: the day, the complaint, and where its facts come from."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fuelsys.document import InputProblems
from shop.forms.base import FaceForm, lines
from shop.layouts import LAYOUTS
from shop.models import FuelSeen

LAYOUT, COPY, DOCUMENT = "layout", "copy", "document"
# What is done with facts of the boat that a document gives otherwise: nothing before it is said.
KEEP, TAKE, BACK = "keep", "take", "back"
MOST_BYTES = 1_000_000


class FuelForm(FaceForm):
    """The answer that was left open when the survey began."""

    fuel_seen = forms.ChoiceField(
        label=gettext_lazy("Is fuel smelled now, or seen in the bilge?"),
        choices=[each for each in FuelSeen.choices if each[0] != FuelSeen.UNASKED],
    )


class SurveyForm(FaceForm):
    # Asked before anything else (common practice, no source).
    fuel_seen = forms.ChoiceField(
        label=gettext_lazy("Is fuel smelled now, or seen in the bilge?"),
        choices=FuelSeen.choices,
        widget=forms.RadioSelect(),
        help_text=gettext_lazy(
            "Yes: do not start, do not switch anything aboard; people off. The boat is marked as"
            " not to be run until a lead lifts it."
        ),
    )
    surveyed_on = forms.DateField(
        label=gettext_lazy("Surveyed on"),
        widget=forms.DateInput(attrs={"type": "date", "class": "w12"}, format="%Y-%m-%d"),
        error_messages={"invalid": gettext_lazy("This is not a day. Write it as 2026-11-25.")},
    )
    complaint = lines(
        gettext_lazy("Complaint"),
        most=2000,
        rows=2,
        help_text=gettext_lazy("In the owner’s words."),
    )
    notes = lines(gettext_lazy("Notes"), most=4000, rows=2)

    source = forms.ChoiceField(
        label=gettext_lazy("Start from"),
        widget=forms.RadioSelect(),
    )
    layout = forms.ChoiceField(
        label=gettext_lazy("Layout"),
        required=False,
        widget=forms.Select(attrs={"class": "w24"}),
    )
    generator = forms.BooleanField(
        label=gettext_lazy("With a generator that has a pick-up of its own"), required=False
    )
    text = forms.CharField(
        label=gettext_lazy("Fuel-system document, JSON or YAML"),
        required=False,
        strip=False,
        widget=forms.Textarea(
            attrs={"class": "w40 code", "rows": 10, "spellcheck": "false", "autocomplete": "off"}
        ),
    )
    file = forms.FileField(
        label=gettext_lazy("Or a file"),
        required=False,
        allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": ".json,.yaml,.yml"}),
    )

    def __init__(self, *args: Any, today: date, copied: str = "", **kwargs: Any) -> None:
        kwargs.setdefault("initial", {})
        kwargs["initial"] = {
            "surveyed_on": today,
            **kwargs["initial"],
        }
        super().__init__(*args, **kwargs)
        self.today = today
        self.problems: InputProblems | None = None
        layouts = self.fields["layout"]
        assert isinstance(layouts, forms.ChoiceField)
        named = [(layout.key, _(layout.words)) for layout in LAYOUTS]
        layouts.choices = [("", _("Choose the nearest one")), *named]
        source = self.fields["source"]
        assert isinstance(source, forms.ChoiceField)
        source.choices = [
            *([(COPY, copied)] if copied else []),
            (LAYOUT, _("A layout, then corrected by measurement")),
            (DOCUMENT, _("A fuel-system document")),
        ]

    def clean_surveyed_on(self) -> date:
        day: date = self.cleaned_data["surveyed_on"]
        if day > self.today:
            raise forms.ValidationError(_("This day is still to come. A survey has been made."))
        return day

    def clean_file(self) -> str:
        """The text of the file; an upload that is not text is said so."""
        upload = self.cleaned_data.get("file")
        if not upload:
            return ""
        if upload.size > MOST_BYTES:
            raise forms.ValidationError(_("The file is larger than a million bytes."))
        try:
            text: str = upload.read().decode("utf-8-sig")
        except UnicodeDecodeError:
            raise forms.ValidationError(
                _("The file is not text in UTF-8. Save it so, and choose it again.")
            ) from None
        return text

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("source") == LAYOUT and not data.get("layout") and "layout" not in self.errors:
            self.add_error("layout", _("No layout is chosen. Choose the one nearest to the boat."))
        if data.get("source") == DOCUMENT and "file" not in self.errors:
            if data.get("file"):
                self._keep_text(data["file"])
            if not data.get("text", "").strip():
                self.add_error("text", _("No document is here. Paste it, or choose its file."))
        return data

    @property
    def boat_facts(self) -> str:
        """What was decided of the boat's own facts: keep, take, back, or nothing yet."""
        said = str(self.data.get("boat_facts", ""))
        return said if said in (KEEP, TAKE, BACK) else ""

    def carried(self) -> list[SafeString]:
        """Everything typed, hidden, so that a page between loses none of it."""
        return [self[name].as_hidden() for name in self.fields if name != "file"]

    def take_problems(self, problems: InputProblems) -> None:
        """Every problem of the document, listed with its path; the text stays."""
        self.problems = problems
        count = len(problems.problems)
        words = _("The document does not read: %(count)s to correct, listed below.")
        self.add_error("text", words % {"count": count})

    def _keep_text(self, text: str) -> None:
        """A file's text goes into the field, so that it can be corrected there."""
        self.cleaned_data["text"] = text
        self.data = {**{name: self.data.get(name) for name in self.data}, "text": text}
