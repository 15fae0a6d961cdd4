"""What is to be cut, what it can be cut from, and the cut list.

Every length is a whole number of one unit, the same for all of a need: sixteenths of an inch or
millimeters (`fuelsys.cutting.lengths`). A price is an exact `Decimal`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

NOTHING = Decimal(0)


@dataclass(frozen=True, slots=True)
class Piece:
    """One hose as it is to be fitted; it is cut from one source, whole."""

    id: str
    length: int


@dataclass(frozen=True, slots=True)
class Remnant:
    """A length on hand: it costs nothing more, and its lot goes with every piece."""

    id: str
    length: int
    lot: str = ""


@dataclass(frozen=True, slots=True)
class Coil:
    """A coil that can be bought whole, at a price for the coil."""

    name: str
    length: int
    price: Decimal

    @classmethod
    def at_length_price(cls, name: str, length: int, price: Decimal, per: int) -> Coil:
        """A coil priced by its length: `price` for every `per` units, such as each foot.

        >>> Coil.at_length_price("50 ft", 9600, Decimal("3.75"), per=192).price
        Decimal('187.50')
        """
        if per <= 0 or length % per:
            raise ValueError(
                f"Coil {name}: {length} is not a whole number of {per}. Give its price for the coil"
            )
        return cls(name, length, price * (length // per))


@dataclass(frozen=True, slots=True)
class ByLength:
    """Hose sold by length: any whole number of `step` units up to `longest`, at `price` a step."""

    name: str
    step: int
    price: Decimal
    longest: int


Offer = Coil | ByLength


@dataclass(frozen=True, slots=True)
class Need:
    """The pieces of one hose type, what is on hand and what can be bought (nothing: no buying).

    `trim` is added to every piece, `kerf` is lost with every cut.
    """

    hose: str
    pieces: tuple[Piece, ...]
    remnants: tuple[Remnant, ...] = ()
    offers: tuple[Offer, ...] = ()
    trim: int = 0
    kerf: int = 0


@dataclass(frozen=True, slots=True)
class Cut:
    """A piece and the length at which it is cut, its trim included."""

    piece: str
    length: int


@dataclass(frozen=True, slots=True)
class Source:
    """One coil, bought length or remnant with the pieces cut from it, and what is left.

    `kind` is remnant, coil or length. What is left goes back to stock under the same lot.
    """

    kind: str
    name: str
    length: int
    cuts: tuple[Cut, ...]
    left: int
    lot: str = ""
    price: Decimal = NOTHING


@dataclass(frozen=True, slots=True)
class HosePlan:
    """The cut list of one hose type: the least cost, or the best found with a proven bound."""

    hose: str
    sources: tuple[Source, ...]
    lacking: tuple[str, ...] = ()  # pieces that no source holds whole
    lacking_length: int = 0  # of these, trim and kerf included
    lacking_bound: int = 0  # no choice of pieces leaves less length lacking
    cost: Decimal = NOTHING
    bound: Decimal = NOTHING  # no plan for these pieces costs less

    @property
    def gap(self) -> Decimal:
        return self.cost - self.bound

    @property
    def proven(self) -> bool:
        """Whether this plan is known to be the best there is."""
        return self.gap == 0 and self.lacking_length <= self.lacking_bound


@dataclass(frozen=True, slots=True)
class CutPlan:
    """The cut lists of all hose types, in the order asked."""

    hoses: tuple[HosePlan, ...] = field(default_factory=tuple)

    @property
    def cost(self) -> Decimal:
        return sum((plan.cost for plan in self.hoses), NOTHING)

    @property
    def bound(self) -> Decimal:
        return sum((plan.bound for plan in self.hoses), NOTHING)

    @property
    def gap(self) -> Decimal:
        return self.cost - self.bound

    @property
    def proven(self) -> bool:
        return all(plan.proven for plan in self.hoses)

    def hose(self, name: str) -> HosePlan:
        """The plan of one hose type; KeyError when there is none of that name."""
        for plan in self.hoses:
            if plan.hose == name:
                return plan
        raise KeyError(name)
