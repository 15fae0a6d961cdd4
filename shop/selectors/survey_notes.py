"""What a survey's own answer adds to the findings: fuel that was smelled, which is no leak yet."""

from __future__ import annotations

from django.utils.translation import gettext_noop

from fuelsys.rules.base import CANNOT_TELL, Finding
from fuelsys.text import Text
from shop.models import FuelSeen, Survey

NO_LEAK = "cfr-33-177-07-c"
SMELLED = Text(
    gettext_noop(
        "Fuel was smelled or seen at the survey. Cannot tell whether it leaks or lies in the bilge."
    )
)
LOOK = Text(
    gettext_noop(
        "Before the boat is used, whoever surveys her looks along every run and into the bilge,"
        " and adds both; a lead lifts the mark."
    )
)


def with_smell(finding: Finding, survey: Survey | None) -> Finding:
    """A finding as it is shown: where nobody could tell of a leak, that fuel was smelled."""
    if finding.rule != NO_LEAK or finding.outcome != CANNOT_TELL:
        return finding
    if survey is None or survey.fuel_seen != FuelSeen.YES:
        return finding
    return finding._replace(message=SMELLED, remedy=LOOK)
