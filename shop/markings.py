"""What is read of a hose's print, and what it lacks under 33 CFR 183.540, in words.

Pure: the reading is that of `fuelsys.document.marking`; nothing is guessed here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fuelsys.document.marking import Marking, lacks_of, read_marking, standards_of

LACKING: Final[dict[str, Promise]] = {
    "words": gettext_lazy(
        "The words USCG TYPE before the class are lacking, 33 CFR 183.540(e)(1)."
    ),
    "class": gettext_lazy("No class A1, A2, B1 or B2 is read, 33 CFR 183.540(e)(1)."),
    "year": gettext_lazy("The year the hose was made is not read, 33 CFR 183.540(e)(2)."),
    "maker": gettext_lazy("No maker’s name or trademark is read, 33 CFR 183.540(e)(3)."),
}
NO_CLASS: Final = gettext_lazy(
    "It shows that the hose has no Coast Guard class, 33 CFR 183.540(e)(1)."
)
NOT_READ: Final = gettext_lazy(
    "Nothing in this print is read. It is kept as it stands and tells neither class nor year."
)
COMPLETE: Final = gettext_lazy(
    "Class, year and maker are there, 33 CFR 183.540(e). Measure the letters and how often they"
    " repeat."
)


@dataclass(frozen=True)
class PrintRead:
    """A print as it stands, what is read of it, and a sentence for each thing it lacks."""

    printed: str
    read: tuple[str, ...]
    lacks: tuple[str | Promise, ...]

    @property
    def is_read(self) -> bool:
        return bool(self.read)

    @property
    def complete(self) -> Promise:
        return COMPLETE

    @property
    def is_complete(self) -> bool:
        return self.is_read and not self.lacks


def print_read(printed: str | None) -> PrintRead | None:
    """What a print says; None where none is on file or typed."""
    text = (printed or "").strip()
    if not text:
        return None
    marking = read_marking(text)
    read = tuple(_read(marking, standards_of(text)))
    return PrintRead(text, read, tuple(_lacks(marking, lacks_of(text))) if read else (NOT_READ,))


def _read(marking: Marking, standards: tuple[str, ...]) -> list[str]:
    said = []
    if marking.mark == "NONE":
        said.append(_("no Coast Guard class"))
    elif marking.mark:
        said.append(_("class %(mark)s") % {"mark": marking.mark})
    if marking.low_permeation:
        said.append(_("suffix -15, a claim of low permeation and no label by itself"))
    if marking.year:
        said.append(_("year %(year)s") % {"year": marking.year})
    if standards:
        said.append(_("standard %(names)s") % {"names": ", ".join(standards)})
    if marking.epa_label:
        said.append(_("the words EPA COMPLIANT"))
    return said


def _lacks(marking: Marking, lacking: tuple[str, ...]) -> list[str | Promise]:
    return [
        NO_CLASS if name == "class" and marking.mark == "NONE" else LACKING[name]
        for name in lacking
    ]
