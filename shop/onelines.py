"""One line as a person typed it, without the signs that nobody sees.

Marks of direction turn the words around them, so that a name reads as another one beside it
(Unicode Technical Report 36, section 2.5, and Standard Annex 9); a name of blank signs is none.
"""

from __future__ import annotations

import unicodedata

# Joiners shape the letters of several scripts; they stay between signs that are seen.
JOINERS = "\u200c\u200d"
# Letters by their category that draw nothing: the fillers of Hangul.
BLANK_LETTERS = frozenset("\u115f\u1160\u3164\uffa0")
NUL = "\0"  # for the field itself to refuse
BREAKS = frozenset({"Cc", "Zl", "Zp"})


def one_line(text: str) -> str:
    """The text without format signs, marks of direction among them; breaks become spaces.

    Examples
    --------
    >>> one_line("Ada\\u202e Brae\\u200b")
    'Ada Brae'
    >>> one_line("\\ufeff\\u2060")
    ''
    """
    return "".join(map(_kept, text)).strip().strip(JOINERS).strip()


def has_letter(text: str) -> bool:
    """Whether a letter is to be seen in it.

    Examples
    --------
    >>> has_letter("\\u200b\\u3164"), has_letter("Ö")
    (False, True)
    """
    return any(
        unicodedata.category(sign).startswith("L") and sign not in BLANK_LETTERS for sign in text
    )


def has_sign(text: str) -> bool:
    """Whether a letter or a figure is to be seen in it.

    Examples
    --------
    >>> has_sign("\\u200b\\u3164 ."), has_sign("4500")
    (False, True)
    """
    return has_letter(text) or any(unicodedata.category(sign).startswith("N") for sign in text)


def _kept(sign: str) -> str:
    if sign in JOINERS or sign == NUL:
        return sign
    category = unicodedata.category(sign)
    if category in BREAKS:
        return " "
    return "" if category in ("Cf", "Cs") else sign
