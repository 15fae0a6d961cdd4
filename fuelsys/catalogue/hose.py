"""A hose product as the catalogue knows it, from its maker's sheet."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class HoseProduct:
    """One hose by the foot. A figure the maker's sheet does not give is None.

    Lengths are metres. Minimum bend radii and outside diameters have no public
    table, so they are only ever the maker's own figures.
    """

    sku: str
    mark: str  # A1 A2 B1 B2, or NONE for hose that carries no USCG class
    inside_diameter_m: float
    outside_diameter_m: float | None = None
    minimum_bend_radius_m: float | None = None
    low_permeation: bool = False  # the -15 suffix; it proves no EPA label
    epa_label: bool = False
    wire_helix: bool = False
    for_clamps: bool = True

    @property
    def fire_rated(self) -> bool:
        """The letter is fire resistance, 33 CFR 183.540."""
        return self.mark in ("A1", "A2")

    @property
    def feed_grade(self) -> bool:
        """The digit is permeation; 1 is feed grade, 33 CFR 183.540."""
        return self.mark in ("A1", "B1")
