"""What to do about a finding: its own remedy, else what its outcome alone asks."""

from __future__ import annotations

from typing import Final

from fuelsys.rules.base import CANNOT_TELL, REVIEW, Finding
from fuelsys.text import Text

FIND_OUT: Final = Text("Find out what is not on file and add it.")
JUDGE: Final = Text("A person who can judge it looks at it before it counts.")
BY_OUTCOME: Final = {CANNOT_TELL: FIND_OUT, REVIEW: JUDGE}


def remedy_of(finding: Finding) -> Text | None:
    """What is to be done; None where nothing is: the rule passes or does not apply."""
    return finding.remedy or BY_OUTCOME.get(finding.outcome)
