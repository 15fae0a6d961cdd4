"""The fire and vapor cautions, and where each must appear.

Basis of each: the comment beside it. They defer to local codes, makers' instructions and
licensed practice (`DEFERS`), and the last words say what a paper of ours is not.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

OF_ANY: Final = 2  # it names neither a fuel nor work


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution; `on` holds Q for quotes, H for change orders, T for the yard before work, C for
    completion.

    One that names its paper stands once for each, under one number. `fuel` is set where it speaks
    of one fuel alone.
    """

    number: int
    text: str | Promise
    on: str
    fuel: str = ""


CAUTIONS = (
    # vapor density at least 2.48; flammable 1.2–7.6 % in air; flash point about −50 °F (secondary
    # source: fire service journal 1988; others give 1.4 % and −45 °F)
    Caution(
        1,
        _("Gasoline vapor is heavier than air, collects in the bilge and can explode."),
        "QHTC",
        "gasoline",
    ),
    # common practice, no source
    Caution(
        2,
        _("If you smell or see fuel: do not start, do not switch, get off, get help."),
        "QHTC",
    ),
    # 33 CFR 183.610(f) (text read)
    Caution(
        3,
        _(
            "Before every start: blower four minutes, then check the engine compartment "
            "bilge for vapor."
        ),
        "QHC",
        "gasoline",
    ),
    # 29 CFR 1910.106, 1926.152 family; 8 CCR 5549(a) (text read); NFPA 303 bars class I liquids
    # in indoor boat storage (secondary source, 1995 edition)
    Caution(
        4,
        _(
            "No flame, smoking, grinding, heaters, unprotected lamps, pumps or chargers "
            "near open fuel. Work outdoors or where vapor cannot collect."
        ),
        "T",
    ),
    # common practice, no source
    Caution(
        5,
        _(
            "Air first and measure; then shore power and batteries off, before opening "
            "any fuel line."
        ),
        "T",
    ),
    # the make-safe order of the trade
    Caution(
        6,
        _(
            "Bond container and source before fuel moves; approved containers only; never "
            "push fuel with air."
        ),
        "T",
    ),
    # the make-safe order of the trade (secondary source)
    Caution(7, _("Stop work at 10 % LEL at the lowest point."), "T"),
    # (secondary source) fire service journal; OSHA benzene PEL 1 ppm (29 CFR 1910.1028)
    # (secondary source)
    Caution(
        8,
        _(
            "Gloves and eye protection; gasoline contains benzene; wash skin; no "
            "siphoning by mouth."
        ),
        "T",
    ),
    # 183.514(b)(5) (text read)
    Caution(9, _("Do not pressurize a tank above its label; no label, no pressure."), "T"),
    # common practice, no source
    Caution(10, _("Rags and wet hose into closed metal containers."), "T"),
    # (from memory, unverified) 40 CFR 110, 33 CFR 153
    Caution(
        11,
        _(
            "Spills: stop, dam, absorb; any sheen on water must be reported (US National "
            "Response Center 1-800-424-8802)."
        ),
        "T",
    ),
    # owner's manuals and labels (secondary source)
    Caution(
        12,
        _("Hose and clamps wear. Have the fuel system inspected at least once a year."),
        "QHC",
    ),
    # common practice, no source
    Caution(
        13,
        _("What you decline, and what is listed as not seen, is not repaired and may be unsafe."),
        "Q",
    ),
    Caution(13, _("What you leave undone is not repaired and may be unsafe."), "H"),
    Caution(
        13,
        _("Items listed as declined or not seen were not repaired and may be unsafe."),
        "C",
    ),
    # what an offer of work, or a record of it, is and is not
    Caution(
        14,
        _(
            "This quote offers work and its price; it is not a certificate that the boat meets "
            "any law or standard."
        ),
        "Q",
    ),
    Caution(
        14,
        _(
            "This change order offers further work and its price; it is not a certificate that "
            "the boat meets any law or standard."
        ),
        "H",
    ),
    Caution(
        14,
        _(
            "This record is a report of work done, not a certificate that the boat meets "
            "any law or standard."
        ),
        "C",
    ),
    # common practice, no source
    Caution(
        15,
        _("Diesel is less easily lit but burns; hot surfaces and spray start fires."),
        "QHTC",
        "diesel",
    ),
)


def cautions_for(paper: str, fuels: Collection[str]) -> tuple[Caution, ...]:
    """The cautions of one kind of paper, "Q", "H", "T" or "C", for a boat with these fuels.

    Where no fuel is on file, or one that is neither, nothing is left out.
    """
    known = bool(fuels) and all(fuel in ("gasoline", "diesel") for fuel in fuels)
    return tuple(
        caution
        for caution in CAUTIONS
        if paper in caution.on and (not caution.fuel or not known or caution.fuel in fuels)
    )


def cautions_on(copy: Mapping[str, Any]) -> tuple[str, ...]:
    """What a quote or a change order prints of fire and vapor, and what it defers to."""
    return (*copy["cautions"], *copy["defers"])


def cautions_of_any() -> tuple[str | Promise, ...]:
    """For a page that knows no boat, or must not show that it does: the same for whoever asks."""
    return (*(each.text for each in CAUTIONS if each.number == OF_ANY), DEFERS)


DEFERS = _(
    "Local fire codes and marina rules, the makers' instructions for engine, tank, hose and "
    "clamps, and licensed or qualified practice come first."
)
NO_CERTIFICATE = _(
    "Checked against published rules as listed; not legal advice and not a government "
    "certification. Local codes, makers' instructions and licensed practice govern."
)
