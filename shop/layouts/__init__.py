"""Starting layouts: how fuel systems of the usual kinds are laid out, before anything is measured.

A layout knows which parts there are and how they join. It knows no height, no length, no bore and
no hose type: those are measured. What is typical is said in a note, and is common practice
without a source.
"""

from shop.layouts.catalogue import LAYOUTS, Layout, layout_make
from shop.layouts.model import Plan

__all__ = ["LAYOUTS", "Layout", "Plan", "layout_make"]
