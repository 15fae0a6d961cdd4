"""Recompute what the database claims, from what it holds; nothing here writes.

One module an area, one generator a check. A check yields a `Fault` for everything that is not as
it must be, and counts what it looked at, so that an empty answer can be told from an empty look.
"""

from shop.verify.model import Fault, Finding, Report
from shop.verify.run import CHECKS, run

__all__ = ["CHECKS", "Fault", "Finding", "Report", "run"]
