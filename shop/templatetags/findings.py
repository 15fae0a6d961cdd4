"""A finding in a template, with all it rests on."""

from __future__ import annotations

from django import template

from fuelsys.rules.base import Finding
from shop.selectors.panels import Said, said_list

register = template.Library()


@register.filter
def as_said(finding: Finding) -> Said:
    """One finding as the boat's page says it: sentence, figures, citation, bound, mark, remedy."""
    (said,) = said_list((finding,))
    return said
