"""What is typed in the yard: a cut, a reading, gallons, a reason. Big fields, few of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from shop.forms.base import TRI_CHOICES, FaceForm, lines, number, words
from shop.forms.quantities import LengthField
from shop.inches import decimal_text
from shop.models import Reel
from shop.selectors.items import Item
from shop.work.judging import GROUND, LEAK, LINES, RUN, SYSTEM, VACUUM, VAPOR, Asked
from shop.work.leakage import BAROMETER
from shop.work.payloads import LONGEST_METHOD, is_barometer
from shop.work.safe import Step

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise

MOST = Decimal(9999)
HUNDREDTH = Decimal("0.01")


def figure(label: _StrOrPromise, **kwargs: Any) -> forms.DecimalField:
    """A measured number, typed as read off the instrument."""
    return number(label, most=MOST, places=3, **kwargs)


NO_REEL = _("No reel is chosen. The lot goes on the record: choose the reel.")


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
        if cut_in is None or self.run_in is None or data.get("text", "").strip():
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
        if used is None or self.makers_in_lb is None or data.get("torque_why", "").strip():
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


SCOPES = (
    (SYSTEM, _("The whole system, tank included")),
    (LINES, _("The lines alone, tank isolated")),
)
GASES = (("air", _("Air")), ("inert", _("Inert gas")))
YES_NO = (("yes", _("Yes")), ("no", _("No")))


def answer(label: _StrOrPromise) -> forms.ChoiceField:
    """Yes or no, chosen by hand: nothing is dry before someone has looked."""
    return forms.ChoiceField(
        label=label, choices=YES_NO, widget=forms.RadioSelect(attrs={"class": "tri"})
    )


# What was not above nothing was no test.
NOT_ZERO = {
    "pressure_psi": _("At 0 psi nothing is tested. Note the pressure it was held at."),
    "gauge_psi": _("A gauge reaches above 0 psi. Note what stands at the end of its dial."),
    "wait_min": _("Held for 0 min. Note the minutes between the readings."),
    "minutes": _("Ran for 0 min. Note how long it ran."),
}


class ReadingForm(FaceForm):
    """The figures of one test; which, depends on its kind."""

    def __init__(self, *args: Any, asked: Asked, **kwargs: Any) -> None:
        self.asked = asked
        super().__init__(*args, **kwargs)
        for name, field in _FIELDS[asked.kind](asked).items():
            self.fields[name] = field
        self.fields["text"] = words(_("Instrument, note"), most=300)
        self.name_required_fields()

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        pressure, label = data.get("pressure_psi"), self.asked.label_psi
        above = pressure is not None and label is not None and pressure > label
        if above and data.get("scope") == SYSTEM:
            said = {"pressure": pressure, "label": label}
            self.add_error(
                "pressure_psi",
                _("%(pressure)s psi is above the %(label)s psi on the tank's label. Never.") % said,
            )
        if data.get("rose_psi") and not self._typed("drop_psi"):
            # What rose did not fall: the other field is the same gauge read the other way.
            self.errors.pop("drop_psi", None)
            data["drop_psi"] = Decimal(0)
        if data.get("drop_psi") and data.get("rose_psi"):
            self.add_error("rose_psi", _("It fell or it rose, not both. Leave one empty."))
        if self.asked.kind == LEAK and (data.get("start_f") is None) != (data.get("end_f") is None):
            lacking = "start_f" if data.get("start_f") is None else "end_f"
            self.add_error(lacking, _("Note the air at the start and at the end, or neither."))
        self._check_barometer(data)
        for name in (name for name in NOT_ZERO if data.get(name) == 0):
            self.add_error(name, NOT_ZERO[name])
        self._check_gauge(data)
        return data

    def _typed(self, name: str) -> str:
        return str(self.data.get(self.add_prefix(name)) or "").strip()

    def _check_gauge(self, data: dict[str, Any]) -> None:
        """What no gauge can show; `shop.work.payloads` refuses the last two from elsewhere too."""
        gauge, pressure = data.get("gauge_psi"), data.get("pressure_psi")
        drop, step = data.get("drop_psi"), data.get("gauge_step_psi")
        said = {"gauge": gauge, "pressure": pressure, "drop": drop, "step": step}
        if gauge and pressure is not None and gauge < pressure:
            self.add_error(
                "gauge_psi",
                _("A gauge to %(gauge)s psi cannot show %(pressure)s psi. Read it again.") % said,
            )
        if pressure and drop is not None and drop > pressure:
            self.add_error(
                "drop_psi",
                _("From %(pressure)s psi it cannot fall by %(drop)s psi. Read it again.") % said,
            )
        if gauge and step is not None and step >= gauge:
            self.add_error(
                "gauge_step_psi",
                _("A gauge to %(gauge)s psi has no division of %(step)s psi. Read it again.")
                % said,
            )

    def _check_barometer(self, data: dict[str, Any]) -> None:
        read = {name: data[name] for name in BAROMETER if data.get(name) is not None}
        for name, inhg in read.items():
            if not is_barometer(inhg):
                self.add_error(name, _("No barometer stands there. Give inches of mercury."))
        for name in BAROMETER:
            if read and name not in read and name not in self.errors:
                self.add_error(name, _("Note the barometer at the start and at the end."))

    def payload(self, replaces: Iterable[str]) -> dict[str, Any]:
        data: dict[str, Any] = {"test": self.asked.key, "replaces": list(replaces)}
        for name, value in self.cleaned_data.items():
            if name == "text" or value in (None, ""):
                continue
            data[name] = _wire(name, value)
        return data


def _wire(name: str, value: Any) -> Any:
    if name in ("joints_dry", "dry", "fuel_wet"):
        return value == "yes"
    return plain(value) if isinstance(value, Decimal) else value


def _leak(asked: Asked) -> Mapping[str, forms.Field]:
    """Where no label bears the pressure, the tank is not offered."""
    scopes = [scope for scope in SCOPES if not (asked.label_gate and scope[0] == SYSTEM)]
    return {
        "scope": forms.ChoiceField(
            label=_("Under pressure"),
            choices=scopes,
            # What was under pressure is a fact: it is said, unless there is one way only.
            initial=scopes[0][0] if len(scopes) == 1 else None,
            widget=forms.RadioSelect,
        ),
        "gas": forms.ChoiceField(label=_("With"), choices=GASES, widget=forms.RadioSelect),
        "pressure_psi": figure(_("Pressure, psi")),
        "gauge_psi": figure(_("Gauge reaches to, psi")),
        "wait_min": figure(_("Held, min")),
        "drop_psi": figure(_("Fell by, psi")),
        "rose_psi": figure(_("Or rose by, psi"), required=False),
        "start_f": figure(_("Air inside at the start, °F"), required=False),
        "end_f": figure(_("Air inside at the end, °F"), required=False),
        "start_barometer_inhg": figure(_("Barometer at the start, inHg"), required=False),
        "end_barometer_inhg": figure(_("Barometer at the end, inHg"), required=False),
        "gauge_step_psi": figure(_("Smallest division of the gauge, psi"), required=False),
        "volume_gal": figure(_("Volume under pressure, gal"), required=False),
        "fuel_wet": forms.ChoiceField(
            label=_("Liquid fuel in the part tested?"),
            help_text=_("Its vapor can hide a leak: a steady gauge counts on a dry part only."),
            choices=TRI_CHOICES,
            required=False,
            widget=forms.RadioSelect(attrs={"class": "tri"}),
        ),
        "joints": figure(_("Joints under leak fluid, how many"), required=False),
        "joints_dry": answer(_("Every joint dry?")),
    }


def _ground(asked: Asked) -> Mapping[str, forms.Field]:
    return {"ohm": figure(_("Resistance, ohm"))}


def _vacuum(asked: Asked) -> Mapping[str, forms.Field]:
    return {"inhg": figure(_("Highest, inHg")), "load": words(_("Speeds, load"), most=120)}


def _vapor(asked: Asked) -> Mapping[str, forms.Field]:
    return {"lel_pct": figure(_("Reading, % LEL")), "place": words(_("Where"), most=120)}


def _run(asked: Asked) -> Mapping[str, forms.Field]:
    return {
        "minutes": figure(_("Ran, min")),
        "load": words(_("Speeds, load"), most=120),
        "dry": answer(_("Every joint dry, cold, hot and after the soak?")),
    }


_FIELDS = {LEAK: _leak, GROUND: _ground, VACUUM: _vacuum, VAPOR: _vapor, RUN: _run}


class DecisionForm(FaceForm):
    """A lead's word on a record that waits, or on two that do not go together."""

    events = forms.CharField(widget=forms.HiddenInput, max_length=4000)
    accept = forms.ChoiceField(choices=YES_NO, widget=forms.HiddenInput)
    text = lines(_("Reason"), most=1000, required=True)

    def payload(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {"events": data["events"].split(), "accept": data["accept"] == "yes"}
