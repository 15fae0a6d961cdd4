"""The shop's own words for what a field refuses, wherever the field has none of its own.

Django gives each refusal a code; here every code has a sentence that says what was typed and
what would fit. A form's own words win.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

Words = dict[str, Any]  # by code, sentences that are translated when they are shown

NO_CHOICE = _("“%(value)s” is not one of the choices. Choose again.")
TOO_LONG = _("This is %(show_value)s characters long and %(limit_value)s fit. Shorten it.")
REQUIRED = _("%(label)s is empty. It is needed.")

NULL: Final = "null_characters_not_allowed"
_LIMITS: Final[Words] = {
    "min_value": _("%(show_value)s is too little: %(limit_value)s is the least that fits here."),
    "max_value": _("%(show_value)s is too much: %(limit_value)s is the most that fits here."),
    "min_length": _("This is %(show_value)s characters long; it has %(limit_value)s or more."),
    "max_length": TOO_LONG,
    "max_digits": _("This has more than %(max)s digits. Write a shorter figure."),
    "max_decimal_places": _("At most %(max)s places after the point fit here."),
    "max_whole_digits": _("At most %(max)s digits before the point fit here."),
    "step_size": _("%(show_value)s is no whole number of steps of %(limit_value)s."),
    NULL: _("This holds a sign that cannot be stored. Type it anew."),
}
_CHOICES: Final[Words] = {
    "invalid_choice": NO_CHOICE,
    "invalid_list": _("These are not choices of this list. Choose again."),
    "invalid_pk_value": _("“%(pk)s” is not one of the choices. Choose again."),
    "list": _("These are not choices of this list. Choose again."),
}
_FILES: Final[Words] = {
    "invalid": _("The file did not arrive. Choose it again."),
    "missing": _("The file did not arrive. Choose it again."),
    "empty": _("The file is empty. Choose another."),
    "contradiction": _("Choose a file or take it away, not both."),
}
# The first kind that a field is an instance of; fields of a narrower kind stand first.
_INVALID: Final[tuple[tuple[type[forms.Field], Any], ...]] = (
    (forms.FloatField, _("“%(value)s” is not a number. Write it as 3.5.")),
    (forms.DecimalField, _("“%(value)s” is not a number. Write it as 3.5.")),
    (forms.IntegerField, _("“%(value)s” is not a whole number. Write it as 12.")),
    (forms.DateTimeField, _("“%(value)s” is not a day and time. Write it as 2026-11-25 15:40.")),
    (forms.DateField, _("“%(value)s” is not a day. Write it as 2026-11-25.")),
    (forms.TimeField, _("“%(value)s” is not a time. Write it as 15:40.")),
    (forms.EmailField, _("This is not an email address. Write it as ann@owner.example.")),
)


# What a stored row refuses, where a form let it through.
_OF_ROWS: Final[Words] = {
    **_LIMITS,
    "invalid_choice": NO_CHOICE,
    "blank": _("This is empty. It is needed."),
    "null": _("This is empty. It is needed."),
    "unique": _("This is taken already. Choose another."),
    "unique_together": _("This is taken already. Choose another."),
}
_TYPED: Final = "%(value)s"


class OwnWords(forms.BaseForm):
    """A form whose fields speak the shop's words; made ready when the form is read."""

    def full_clean(self) -> None:
        speak(self.fields.values())
        super().full_clean()

    def add_error(self, field: str | None, error: Any) -> None:
        """As Django's; a sentence that says what was typed is given it."""
        if field in self.fields and isinstance(error, ValidationError):
            for each in error.error_list:
                # A choice among rows raises this one beside the messages of its field.
                if each.code == NULL:
                    each.message = _LIMITS[NULL]
                if each.params is None and _TYPED in str(each.message):
                    each.params = {"value": self[field].data}
        super().add_error(field, error)


def rows_reworded(errors: Iterable[ValidationError]) -> list[ValidationError]:
    """What a stored row refused, in the shop's words."""
    said = []
    for each in errors:
        own = _OF_ROWS.get(each.code or "")
        said.append(ValidationError(own, each.code, each.params) if own else each)
    return said


def speak(fields: Iterable[forms.Field]) -> None:
    """Give each field the shop's words where it has only the framework's."""
    for field in fields:
        framework = framework_words(field)
        for code, words in own_words(field).items():
            if field.error_messages.get(code) == framework.get(code):
                field.error_messages[code] = words


def own_words(field: forms.Field) -> Words:
    """The shop's words for a field of this kind, by code."""
    words: Words = {**_LIMITS, **_CHOICES}
    words["required"] = REQUIRED % {"label": field.label or _("This entry")}
    if isinstance(field, forms.FileField):
        return words | _FILES
    invalid = next((said for kind, said in _INVALID if isinstance(field, kind)), None)
    return words | {"invalid": invalid} if invalid else words


def framework_words(field: forms.Field) -> Words:
    """The messages that the field's classes bring along, by code; none for a validator's."""
    found: Words = {}
    for kind in reversed(type(field).__mro__):
        if kind.__module__.startswith("django."):
            found |= getattr(kind, "default_error_messages", {})
    return found
