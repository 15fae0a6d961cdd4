"""What is typed in the yard: a cut, gallons, a reason. Big fields, few of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from shop.forms.base import FaceForm, LineField, lines, number, words
from shop.forms.quantities import LengthField
from shop.inches import decimal_text
from shop.models import Reel
from shop.onelines import has_letter
from shop.selectors.items import Item
from shop.work.payloads import LONGEST_METHOD
from shop.work.safe import Step

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise

MOST = Decimal(9999)
HUNDREDTH = Decimal("0.01")


def figure(label: _StrOrPromise, **kwargs: Any) -> forms.DecimalField:
    """A measured number, typed as read off the instrument."""
    return number(label, most=MOST, places=3, **kwargs)


NO_REEL = _("No reel is chosen. The lot goes on the record: choose the reel.")


class PlaceField(LineField):
    """A place beside a warning: cut to its room or left out, for no text may refuse the warning."""

    def clean(self, value: Any) -> str:
        try:
            held: str = super().clean(self.to_python(value)[: self.max_length])
        except ValidationError:
            return ""
        return held


class SmellForm(FaceForm):
    """One press marks the boat; where it smells is told by who has time to."""

    where = words(
        _("Where, if you know"),
        most=120,
        field=PlaceField,
        help_text=_("Stands with the mark on her pages and papers; the owner reads it too."),
    )

    def __init__(self, *args: Any, is_marked: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if is_marked:
            self.fields["where"].help_text = _("Whoever lifts the mark reads it first.")

    def place(self) -> str:
        return self.cleaned_data.get("where", "") if self.is_valid() else ""


class TickForm(FaceForm):
    """A piece and its reel. Without a reel there is no tick: the lot goes with the boat."""

    reel = forms.ChoiceField(
        label=_("Reel"),
        widget=forms.RadioSelect(attrs={"class": "reels"}),
        error_messages={"invalid_choice": _("“%(value)s” is no reel of this hose. Choose again.")},
    )
    cut_in = LengthField(label=_("Cut, in"), width="w6")
    text = lines(_("If it is shorter than the run: why it fits"), most=500, rows=2)
    torque_in_lb = figure(
        _("Torque used, in-lb"), required=False, help_text=_("Where it was set or read.")
    )
    torque_why = words(
        _("If it is outside the maker's range: why"),
        most=LONGEST_METHOD,
        help_text=_("Printed on the record."),
    )
    method = words(
        _("Or how they were tightened"), most=LONGEST_METHOD, help_text=_("Printed on the record.")
    )

    def __init__(
        self,
        *args: Any,
        reels: Iterable[tuple[Reel, Decimal]],
        from_reel: bool,
        run_in: Decimal | None,
        clamped: bool,
        torque_in_lb: tuple[Decimal, Decimal] | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.run_in = run_in
        self.makers_in_lb = torque_in_lb
        if not clamped or torque_in_lb is None:
            del self.fields["torque_why"]
        if not clamped:
            del self.fields["torque_in_lb"], self.fields["method"]
        if not from_reel:
            del self.fields["reel"], self.fields["cut_in"], self.fields["text"]
            return
        field = self.fields["reel"]
        field.error_messages["required"] = NO_REEL
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(reel.ident, reel_words(reel, left)) for reel, left in reels]

    def full_clean(self) -> None:
        """Piece and reel are drawn by the page itself: the first that is wrong takes the keyboard,
        or what is said of it lies under the button at the foot of the tablet."""
        super().full_clean()
        wrong = next((name for name in ("cut_in", "reel") if name in self.errors), None)
        if wrong is not None:
            self.fields[wrong].widget.attrs["autofocus"] = True

    def clean_cut_in(self) -> Decimal:
        inches = self.cleaned_data["cut_in"].inches
        return (Decimal(inches.numerator) / Decimal(inches.denominator)).quantize(HUNDREDTH)

    def clean_torque_in_lb(self) -> Decimal | None:
        value: Decimal | None = self.cleaned_data["torque_in_lb"]
        if value == 0:
            raise ValidationError(_("A torque is above 0. Leave it empty where none was read."))
        return value

    def clean(self) -> dict[str, Any]:
        """The run that was measured is the least; the cut that is offered holds the trim too."""
        data: dict[str, Any] = super().clean() or {}
        self._check_torque(data)
        cut_in = data.get("cut_in")
        if cut_in is None or self.run_in is None or has_letter(data.get("text", "")):
            return data
        if cut_in < self.run_in:
            said = {"cut": decimal_text(cut_in), "run": decimal_text(self.run_in)}
            self.add_error(
                "cut_in",
                _(
                    "%(cut)s in is shorter than the run, measured %(run)s in. Measure again, or "
                    "say why it fits."
                )
                % said,
            )
        return data

    def _check_torque(self, data: Mapping[str, Any]) -> None:
        used = data.get("torque_in_lb")
        if used is None or self.makers_in_lb is None:
            return
        if has_letter(data.get("torque_why", "")):
            return
        least, most = self.makers_in_lb
        if not least <= used <= most:
            said = {
                "used": decimal_text(used),
                "least": decimal_text(least),
                "most": decimal_text(most),
            }
            self.add_error(
                "torque_in_lb",
                _(
                    "%(used)s in-lb is outside the maker's %(least)s to %(most)s in-lb. Read it "
                    "again, or say why."
                )
                % said,
            )

    def payload(self, after: Iterable[str]) -> dict[str, Any]:
        data: dict[str, Any] = {"after": list(after)}
        if "reel" in self.fields:
            data["reel"] = self.cleaned_data["reel"]
            data["cut_in"] = decimal_text(self.cleaned_data["cut_in"])
        if self.cleaned_data.get("torque_in_lb"):
            data["torque_in_lb"] = decimal_text(self.cleaned_data["torque_in_lb"])
            if self.cleaned_data.get("torque_why"):
                data["torque_why"] = self.cleaned_data["torque_why"]
        if self.cleaned_data.get("method"):
            data["method"] = self.cleaned_data["method"]
        return data


class ItemForm(FaceForm):
    """A part or a piece of work is done. A valve says at which pick-up, where there are several."""

    component = forms.ChoiceField(label=_("At"), widget=forms.RadioSelect)

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        kwargs.setdefault("initial", {"component": item.place})
        super().__init__(*args, **kwargs)
        field = self.fields["component"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(ident, ident) for ident in item.pick_ups]
        if len(item.pick_ups) < 2:
            del self.fields["component"]

    def payload(self, after: Iterable[str]) -> dict[str, Any]:
        data: dict[str, Any] = {"after": list(after)}
        if "component" in self.fields:
            data["component"] = self.cleaned_data["component"]
        return data


def reel_words(reel: Reel, left_in: Decimal) -> str:
    said = {"reel": reel.ident, "lot": reel.lot.code, "left": decimal_text(left_in)}
    return str(_("%(reel)s, lot %(lot)s, %(left)s in left") % said)


class ReasonForm(FaceForm):
    text = lines(_("Reason"), most=1000, required=True)


class NoteForm(FaceForm):
    text = lines(_("Note"), most=2000, required=True)


class StepForm(FaceForm):
    """One confirmed step; two of them need the vapor reading."""

    step = forms.CharField(widget=forms.HiddenInput)
    lel_pct = figure(_("Reading, % LEL"), required=False)

    def __init__(self, *args: Any, step: Step, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if step.reads_lel:
            self.fields["lel_pct"].required = True
            self.name_required_fields()
        else:
            del self.fields["lel_pct"]

    def payload(self, stops: Iterable[str]) -> dict[str, Any]:
        """`stops` are the readings too high that the person has before their eyes."""
        data: dict[str, Any] = {"step": self.cleaned_data["step"]}
        if seen := list(stops):
            data["after"] = seen
        if "lel_pct" in self.fields:
            data["lel_pct"] = f"{self.cleaned_data['lel_pct'].normalize():f}"
        return data


class FuelForm(FaceForm):
    moved_gal = figure(_("Moved, gal"))
    kept_gal = figure(_("Kept, gal"))
    wasted_gal = figure(_("To waste, gal"))
    text = words(_("Containers, receipt"), most=300)

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        moved, kept, wasted = (data.get(f"{n}_gal") for n in ("moved", "kept", "wasted"))
        if moved is None or kept is None or wasted is None:
            return data
        if kept + wasted != moved:
            self.add_error(
                "kept_gal", _("Kept and wasted do not add up to what was moved. Count again.")
            )
        return data

    def payload(self) -> dict[str, Any]:
        names = ("moved_gal", "kept_gal", "wasted_gal")
        return {name: plain(self.cleaned_data[name]) for name in names}


def plain(value: Decimal) -> str:
    return f"{value:f}"


YES_NO = (("yes", _("Yes")), ("no", _("No")))


class DecisionForm(FaceForm):
    """A lead's word on a record that waits, or on two that do not go together."""

    events = forms.CharField(widget=forms.HiddenInput, max_length=4000)
    accept = forms.ChoiceField(choices=YES_NO, widget=forms.HiddenInput)
    text = lines(_("Reason"), most=1000, required=True)

    def payload(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {"events": data["events"].split(), "accept": data["accept"] == "yes"}
