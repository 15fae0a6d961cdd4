"""A yes-or-no question about a part: what each answer means, and what to look at without one."""

from __future__ import annotations

from dataclasses import dataclass

from fuelsys.rules.answers import Answer, known
from fuelsys.rules.base import Verdict, cannot_tell, failed, passed
from fuelsys.text import Text


@dataclass(frozen=True, slots=True)
class Question:
    """Sentences for yes, no and not known; `remedy` follows a no, `look` an unknown."""

    good: Text
    bad: Text
    unknown: Text
    remedy: Text
    look: Text

    def of(self, fact: bool | None, path: str) -> Verdict:
        """The verdict on one recorded fact."""
        return self.on(known(fact, path))

    def on(self, answer: Answer) -> Verdict:
        """The verdict on conditions put together."""
        if answer.holds is None:
            return cannot_tell(self.unknown, *answer.missing, remedy=self.look)
        if answer.holds:
            return passed(self.good)
        return failed(self.bad, remedy=self.remedy)
