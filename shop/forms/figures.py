"""Numbers as people type them: the digits 0 to 9, one point, thousands apart by commas.

Python reads more: 1e3, 1_000, digits of other scripts. In a price each of them is a slip, and so
is 12,50, which must not become 1250.
"""

from __future__ import annotations

import re
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError

from shop.forms.unitwords import number_of, unit_of

PLAIN: Final = re.compile(
    r"[-+−]?(?:(?:[0-9]+|[0-9]{1,3}(?:,[0-9]{3})+)(?:\.[0-9]*)?|\.[0-9]+)", re.ASCII
)


class PlainField(forms.IntegerField):
    """What whole numbers and decimals share: the field's own unit after the number is taken off.

    `reads` names the unit where neither the label nor a printed `unit` does.
    """

    def to_python(self, value: Any) -> Any:
        if not isinstance(value, str):
            return super().to_python(value)
        own = getattr(self, "reads", "") or getattr(self, "unit", "")
        typed = number_of(value.strip(), unit_of(str(own), str(self.label or "")))
        if typed and not PLAIN.fullmatch(typed):
            raise ValidationError(
                self.error_messages["invalid"], code="invalid", params={"value": typed}
            )
        return super().to_python(typed.replace(",", "").replace("−", "-"))


class WholeField(PlainField):
    """A whole number."""


class DecimalField(PlainField, forms.DecimalField):
    """A number with a point; exact."""
