"""What a test after the work is read as: its figures, and what no instrument can show."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.forms.base import TRI_CHOICES, FaceForm, words
from shop.forms.work import YES_NO, figure, plain
from shop.onelines import has_sign
from shop.work.judging import GROUND, LEAK, LINES, RUN, SYSTEM, VACUUM, VAPOR, Asked
from shop.work.leakage import BAROMETER, TEMPERATURES
from shop.work.payloads import ATMOSPHERE_INHG, is_barometer

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise

SCOPES = (
    (SYSTEM, _("The whole system, tank included")),
    (LINES, _("The lines alone, tank isolated")),
)
GASES = (("air", _("Air")), ("inert", _("Inert gas")))


def answer(label: _StrOrPromise, **kwargs: Any) -> forms.ChoiceField:
    """Yes or no, chosen by hand: nothing is dry before someone has looked."""
    return forms.ChoiceField(
        label=label, choices=YES_NO, widget=forms.RadioSelect(attrs={"class": "tri"}), **kwargs
    )


REFINEMENTS = (*TEMPERATURES, *BAROMETER, "gauge_step_psi", "volume_gal")

# What was not above nothing was no test.
NOT_ZERO = {
    "pressure_psi": _("At 0 psi nothing is tested. Note the pressure it was held at."),
    "gauge_psi": _("A gauge reaches above 0 psi. Note what stands at the end of its dial."),
    "wait_min": _("Held for 0 min. Note the minutes between the readings."),
    "minutes": _("Ran for 0 min. Note how long it ran."),
    "joints": _("With no joint under leak fluid none was seen dry. Note how many, or none."),
}


class ReadingForm(FaceForm):
    """The figures of one test; which, depends on its kind."""

    def __init__(self, *args: Any, asked: Asked, **kwargs: Any) -> None:
        self.asked = asked
        super().__init__(*args, **kwargs)
        for name, field in _FIELDS[asked.kind](asked).items():
            self.fields[name] = field
        self.fields["text"] = words(_("Instrument, note"), most=300)
        if asked.kind == LEAK:
            self.fields |= _refinements()
        self.name_required_fields()

    @property
    def asked_of_all(self) -> list[forms.BoundField]:
        """What every reading of this test says, in the order in which it is read."""
        return [self[name] for name in self.fields if name not in REFINEMENTS]

    @property
    def refinements(self) -> list[forms.BoundField]:
        """What only some who test have an instrument for."""
        return [self[name] for name in REFINEMENTS if name in self.fields]

    @property
    def is_refined(self) -> bool:
        """Whether one of them is filled in or wrong: it is not folded away then."""
        return any(each.errors or each.value() not in (None, "") for each in self.refinements)

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
        vacuum = data.get("inhg")
        if vacuum is not None and vacuum > ATMOSPHERE_INHG:
            self.add_error("inhg", _("No vacuum is above one atmosphere, 29.92 inHg."))
        return data

    def clean_load(self) -> str:
        """What says nothing is no load, and is not printed as one."""
        load: str = self.cleaned_data["load"]
        return load if has_sign(load) else ""

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


def _refinements() -> dict[str, forms.Field]:
    """What takes a change of temperature out of the drop; the test stands without it."""
    return {
        "start_f": figure(_("Air inside at the start, °F"), required=False),
        "end_f": figure(_("Air inside at the end, °F"), required=False),
        "start_barometer_inhg": figure(_("Barometer at the start, inHg"), required=False),
        "end_barometer_inhg": figure(_("Barometer at the end, inHg"), required=False),
        "gauge_step_psi": figure(_("Smallest division of the gauge, psi"), required=False),
        "volume_gal": figure(_("Volume under pressure, gal"), required=False),
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
        "dry": answer(
            _("Every joint dry, cold, hot and after the soak?"),
            help_text=_("No marks the boat as not to be run until a lead lifts it."),
        ),
    }


_FIELDS = {LEAK: _leak, GROUND: _ground, VACUUM: _vacuum, VAPOR: _vapor, RUN: _run}
