"""Arithmetic of change orders, invoices and credit notes: pure, from lines to totals.

No Django here. Lines are those of `shop.pricing`; all rounding is in `shop.money`.
"""

from shop.invoicing.billing import SuppliesRule, billed_lines, free_lines
from shop.invoicing.changes import supplies_added, totals_added
from shop.invoicing.credits import CreditedLine, Owed, credit_lines, credit_totals
from shop.invoicing.dates import due_on, months_after
from shop.invoicing.totals import BillError, BillTotals, bill_totals

__all__ = [
    "BillError",
    "BillTotals",
    "CreditedLine",
    "Owed",
    "SuppliesRule",
    "bill_totals",
    "billed_lines",
    "credit_lines",
    "credit_totals",
    "due_on",
    "free_lines",
    "months_after",
    "supplies_added",
    "totals_added",
]
