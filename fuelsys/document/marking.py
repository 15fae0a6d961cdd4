"""What the printed marking of a hose says.

Source: 33 CFR 183.540(e) and (f): "USCG TYPE" with the class, the year of
manufacture and the maker's name or trademark. A -15 suffix comes from later
editions of SAE J1527 and proves no label by itself; the words "EPA COMPLIANT"
are part of the label that 40 CFR 1060.137 asks for.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

_DASHES: Final = str.maketrans("‐‑‒–—−", "------")
# What people write for the four letters and the word; the class itself is never guessed at.
_GUARD: Final = re.compile(r"\b(?:U ?\.? ?S ?\.? ?C ?\.? ?G\b\.?|(?:US |U\.S\. )?COAST GUARD\b)")
_SLIPS: Final = re.compile(r"\b(?:USGC|UCSG|SUCG|USG|UCG|USCGG|USSCG)\b(?=[ -]*T)")
_TYPE: Final = re.compile(r"\bUSCG[ -]*(?:TPYE|TYEP|TYP\.?|TYPR|TYPEE|TPE|YTPE)(?=[ -]|[AB][12])")
_CLASS: Final = re.compile(r"\bUSCG[ -]*(?:TYPE[ :-]*)?([AB])-?([12])\b(?: ?[-/] ?(15)\b)?")
_BARE: Final = re.compile(r"(?:\bUSCG[ -]*TYPE[ :-]*|^(?:TYPE )?)[AB](?=$| )(?! [0-9]\b)")
_USCG: Final = re.compile(r"\bUSCG\b")
_AUTOMOTIVE: Final = re.compile(r"\bJ ?30(?: ?R ?[0-9]+)?\b")
# A year stands alone: the edition of a standard (ISO 7840:2013) and lot codes do not count.
_YEAR: Final = re.compile(r"(?<![\w:./-])((?:19[5-9]|20[0-9])[0-9])(?![\w:./-])")
_EPA: Final = re.compile(r"(?<!NOT )(?<!NON[ -])\bEPA[ -]COMPLIANT\b")
_MONTH: Final = re.compile(
    r"(?<!LOT )(?<![\w/.-])(?:0?[1-9]|1[0-2])/((?:19[5-9]|20[0-9])[0-9])(?![\w/-])"
)
_STANDARD: Final = re.compile(
    r"\b(?:SAE ?)?(J(?:30|1527|1942|2046|2260|2996))(?:[ -]?(R[0-9]+))?(?![0-9])"
    r"|\b(ISO|EN|DIN|UL|ABYC) ?(H-[0-9]+|[0-9]{2,6})(?:[-:][0-9]+)?"
)
_BLANK: Final = frozenset({"NONE", "NO MARK", "NO MARKING", "UNMARKED"})

_EXPLAINED: Final = (
    "USCG TYPE SAE ISO EPA COMPLIANT FUEL HOSE LINE MARINE MADE THE USA FOR GASOLINE DIESEL FEED"
    " VENT FILL DAY CLASS NOT NON LOT MFG DATE FAMILY FIRE RESISTANT MARKING UNMARKED NONE MARK"
    " ILLEGIBLE AND WITH INCH PSI MAX"
)


@dataclass(frozen=True, slots=True)
class Marking:
    """The facts a marking proves; None where it does not say."""

    mark: str | None = None  # A1 A2 B1 B2; NONE where it shows that there is no class
    low_permeation: bool | None = None
    year: int | None = None
    epa_label: bool | None = None


def read_marking(printed: str) -> Marking:
    """Read a marking as printed; what cannot be read stays unknown.

    A lone "A" or "B" (marks before 1987) is no class of today.

    >>> read_marking("USCG TYPE A1-15 2026 SAE J1527 EPA COMPLIANT")
    Marking(mark='A1', low_permeation=True, year=2026, epa_label=True)
    >>> read_marking("SAE J30R7").mark
    'NONE'
    """
    text = _tidied(printed)
    classes = {(match[1] + match[2], match[3] is not None) for match in _CLASS.finditer(text)}
    marks = {mark for mark, _ in classes}
    years = {*_YEAR.findall(text), *_MONTH.findall(text)}
    return Marking(
        mark=marks.pop() if len(marks) == 1 else _no_class(text),
        low_permeation=True if classes and all(suffix for _, suffix in classes) else None,
        year=int(years.pop()) if len(years) == 1 else None,
        epa_label=True if _EPA.search(text) else None,
    )


def _plain(printed: str) -> str:
    return " ".join(printed.upper().translate(_DASHES).split())


def _tidied(printed: str) -> str:
    """The print in capitals, with USCG TYPE as the section writes it."""
    text = _SLIPS.sub("USCG", _GUARD.sub("USCG", _plain(printed)))
    return _TYPE.sub("USCG TYPE ", text)


def standards_of(printed: str) -> tuple[str, ...]:
    """The standards that a print names, in its order; none of them is a Coast Guard class.

    >>> standards_of("USCG TYPE A1-15 SAE J1527 ISO 7840-A1")
    ('SAE J1527', 'ISO 7840')
    """
    found = []
    for match in _STANDARD.finditer(_plain(printed)):
        sae, part, body, number = match.groups()
        found.append(f"SAE {sae}{part or ''}" if sae else f"{body} {number}")
    return tuple(dict.fromkeys(found))


def lacks_of(printed: str) -> tuple[str, ...]:
    """What 33 CFR 183.540(e) asks and a print does not show: words, class, year, maker.

    A maker's name is any other word; whose it is only a person can say.

    >>> lacks_of("USCG TYPE A1 2026")
    ('maker',)
    >>> lacks_of("SAE J30R7 1998 HOSEWORKS")
    ('words', 'class')
    """
    read = read_marking(printed)
    shown = {
        "words": bool(re.search(r"\bUSCG TYPE [AB][12]\b", _plain(printed))),
        "class": read.mark not in (None, "NONE"),
        "year": read.year is not None,
        "maker": bool(_other_words(printed)),
    }
    return tuple(name for name, there in shown.items() if not there)


def _other_words(printed: str) -> list[str]:
    """Words of three letters or more that no rule or standard explains."""
    explained = set(_EXPLAINED.split())
    left = _STANDARD.sub(" ", _CLASS.sub(" ", _tidied(printed)))
    return [word for word in re.findall(r"[A-Z]{3,}", left) if word not in explained]


def _no_class(text: str) -> str | None:
    if (
        text in _BLANK
        or _BARE.search(text)
        or (_AUTOMOTIVE.search(text) and not _USCG.search(text))
    ):
        return "NONE"
    return None
