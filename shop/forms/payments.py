"""Money received or paid back, as it is typed."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.forms.base import FaceForm, choice, words
from shop.forms.days import day_field
from shop.forms.prices import money
from shop.models import PaymentKind, PaymentMeans
from shop.money import ZERO

KINDS = [(kind.value, kind.label) for kind in PaymentKind if kind != PaymentKind.REVERSAL]


class PaymentForm(FaceForm):
    kind = choice(_("What it is"), KINDS, required=True)
    amount = money(_("Amount"), help_text=_("Above zero, for a refund as well."))
    means = choice(_("By"), PaymentMeans.choices, required=True)
    received_on = day_field(_("On"))
    reference = words(
        _("Reference"), most=80, help_text=_("A check's number, or what the bank shows.")
    )
    is_more = forms.BooleanField(
        label=_("More came in than is owed: record it all the same"), required=False
    )

    def __init__(
        self, *args: Any, owed: Decimal | None, back: Decimal, received: Decimal, **kwargs: Any
    ) -> None:
        """`owed` is the most that is still to come; None where nothing is authorized yet.

        `back` is the most that is held for the owner, of the `received`.
        """
        super().__init__(*args, **kwargs)
        self.owed, self.back, self.received = owed, back, received
        if self.is_bound and self.data.get("kind") == PaymentKind.REFUND:
            self.fields["is_more"].label = _("More goes back than is owed: record it all the same")

    @property
    def asks_again(self) -> bool:
        """Whether the box is shown: the sum typed is more than what is owed."""
        return self.is_bound and "is_more" in self.errors

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        confirmed, amount = data.pop("is_more", False), data.get("amount")
        if amount is None or confirmed:
            return data
        if data.get("kind") == PaymentKind.REFUND:
            self._ask_refund(amount)
        elif self.owed is not None and amount > self.owed:
            said = {"owed": f"{max(self.owed, ZERO):,.2f}", "amount": f"{amount:,.2f}"}
            self.add_error(
                "is_more",
                _("%(owed)s is owed, and %(amount)s is typed. Look at the amount again, or tick.")
                % said,
            )
        return data

    def _ask_refund(self, amount: Decimal) -> None:
        """Ask about more than is owed back; more than ever came in is refused by the service."""
        if not self.back < amount <= self.received:
            return
        said = {"back": f"{self.back:,.2f}", "amount": f"{amount:,.2f}"}
        self.add_error(
            "is_more",
            _("%(back)s is owed back, and %(amount)s is typed. Look at the amount again, or tick.")
            % said,
        )


class ReversalForm(FaceForm):
    why = words(_("What was wrong"), required=True, most=80)


def payment_initial(*, due: Any, billed: bool, today: date) -> dict[str, Any]:
    """What is likely: before the invoice a deposit, after it what is due, or its return."""
    if not billed:
        return {"kind": PaymentKind.DEPOSIT, "means": PaymentMeans.CARD, "received_on": today}
    kind = PaymentKind.REFUND if due < 0 else PaymentKind.PAYMENT
    return {
        "kind": kind,
        "means": PaymentMeans.CARD,
        "received_on": today,
        "amount": abs(due) if due else None,
    }
