"""What a change order adds: differences of the whole job, so that the bill never exceeds them.

Supplies and tax of the job with the change, less those without it. Rounded by themselves,
the tax of a quote and of its changes can come to a cent less than the tax on the whole, and
the bill would exceed what was consented to.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from shop.invoicing.billing import SuppliesRule
from shop.invoicing.totals import BillTotals, bill_totals
from shop.money import total_of
from shop.pricing import Line, Tax


def supplies_added(
    rule: SuppliesRule, *, labor_before: Decimal, labor_added: Decimal, supplies_before: Decimal
) -> Decimal:
    """Shop supplies that a change adds: the rule on all labor, less what is charged already.

    Examples
    --------
    >>> rule = SuppliesRule(Decimal("0.06"), floor=Decimal("8.00"), cap=Decimal("60.00"))
    >>> supplies_added(rule, labor_before=Decimal("1793.76"), labor_added=Decimal("44.40"),
    ...                supplies_before=Decimal("60.00"))
    Decimal('0.00')
    >>> supplies_added(rule, labor_before=Decimal("987.16"), labor_added=Decimal("44.40"),
    ...                supplies_before=Decimal("59.23"))
    Decimal('0.77')
    """
    return total_of([rule.amount(total_of([labor_before, labor_added])), -supplies_before])


def totals_added(before: Sequence[Line], added: Sequence[Line], tax: Tax) -> BillTotals:
    """The totals of a change order: the job with its lines, less the job without them."""
    return bill_totals([*before, *added], tax) - bill_totals(before, tax)
