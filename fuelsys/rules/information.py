"""What the texts ask that no shop can see or measure: told to whoever asks, never checked.

Makers' type tests, tests of design, and duties that leave no trace on the boat. None of them gives
a finding; a label or a mark on the part is what a shop can look for.
"""

from __future__ import annotations

from dataclasses import dataclass

from fuelsys.rules.base import FORCES
from fuelsys.text import Text

# A finding names none but those of the contract; a duty that is told may name others.
KEEPER = "owner, operator or maintainer"
TOLD_FORCES = (*FORCES, KEEPER)
TYPE_TEST = Text("A type test of the maker. A shop sees the label or mark that it leads to.")
NO_FACT = Text("Not recorded in the survey. Whoever does the work looks at it.")
DUTY = Text("A duty of conduct. It leaves nothing on the boat to look at.")
SALE = Text("A duty of whoever sells. What was sold elsewhere is not recorded here.")


@dataclass(frozen=True, slots=True)
class Information:
    """One duty that is not checked: who is bound, how sure the source is, and why not."""

    title: Text
    citation: str
    force: str
    evidence: str
    why: Text


NOT_CHECKED: tuple[Information, ...] = (
    Information(
        Text("The tank does not leak at its label pressure."),
        "33 CFR 183.510(a); 183.580",
        "tank maker",
        "V",
        TYPE_TEST,
    ),
    Information(
        Text("The tank does not leak after the fire test, at 0.25 psi."),
        "33 CFR 183.510(b); 183.590",
        "tank maker",
        "V",
        TYPE_TEST,
    ),
    Information(
        Text(
            "Shock below 25 gal, pressure impulse from 25 to 199 gal, slosh besides from 200 gal."
        ),
        "33 CFR 183.510(c)-(e); 183.584; 183.586; 183.588",
        "tank maker",
        "V",
        TYPE_TEST,
    ),
    Information(
        Text("The tank label's other items, and that it lasts."),
        "33 CFR 183.514(b)-(d)",
        "tank maker",
        "V",
        NO_FACT,
    ),
    Information(
        Text("Foam around a metal tank keeps its shape in fuel and takes up little water."),
        "33 CFR 183.516",
        "boat builder",
        "V",
        TYPE_TEST,
    ),
    Information(
        Text("The tank is not mounted on an engine."),
        "33 CFR 183.550(a)",
        "boat builder",
        "V+",
        NO_FACT,
    ),
    Information(
        Text(
            "The tank carries no structure, water runs off its top, its loose supports hold no"
            " moisture, and foam is not all that carries a metal tank."
        ),
        "33 CFR 183.550(c)-(g)",
        "boat builder",
        "V+",
        NO_FACT,
    ),
    Information(
        Text("A tank labeled for the aft half has its center of gravity aft of half the length."),
        "33 CFR 183.514(b)(8); 183.550(c)-(g)",
        "boat builder",
        "V+",
        NO_FACT,
    ),
    Information(
        Text("The label of an encased tank can be reached, as its fittings can."),
        "33 CFR 183.552",
        "boat builder",
        "V+",
        Text("A label that cannot be read is asked about; why it cannot is not recorded."),
    ),
    Information(
        Text("An encased metal tank holds no water, and its bond is stronger than the foam."),
        "33 CFR 183.552",
        "boat builder",
        "V+",
        NO_FACT,
    ),
    Information(
        Text("A diaphragm pump does not leak outside when its first diaphragm fails."),
        "33 CFR 183.524(a)",
        "boat builder",
        "V",
        TYPE_TEST,
    ),
    Information(
        Text("Pumps, filters and strainers leak 5 ounces at most after the fire test."),
        "33 CFR 183.524(c); 183.534",
        "boat builder",
        "V",
        TYPE_TEST,
    ),
    Information(
        Text("A carburetor leaks 5 milliliters at most in 30 seconds."),
        "33 CFR 183.526(b)",
        "boat builder",
        "V",
        TYPE_TEST,
    ),
    Information(
        Text("A carburetor of updraft or horizontal draft catches and returns what it spills."),
        "33 CFR 183.526(c)",
        "boat builder",
        "V",
        NO_FACT,
    ),
    Information(
        Text("A stop valve in a line of type A1 hose or metal does not leak after the fire test."),
        "33 CFR 183.528(b)",
        "boat builder",
        "V",
        TYPE_TEST,
    ),
    Information(
        Text("A clamp where type A1 or metal is asked holds 1 pound after the fire test."),
        "33 CFR 183.532(b)",
        "boat builder",
        "V",
        TYPE_TEST,
    ),
    Information(
        Text("Gaskets of a filter do not leak in 24 hours of gasoline rich in aromatics."),
        "33 CFR 183.536(b)",
        "boat builder",
        "V",
        TYPE_TEST,
    ),
    Information(
        Text(
            "Type A hose withstands fire for 2 1/2 minutes; class 1 and 2 hose lets little through."
        ),
        "33 CFR 183.540; 183.590",
        "hose maker",
        "V+",
        TYPE_TEST,
    ),
    Information(
        Text("Blowers are rated by a standard method, and several may be combined."),
        "33 CFR 183.610(b), (e)",
        "boat builder",
        "V",
        TYPE_TEST,
    ),
    Information(
        Text("Certified line loses 15 g/m2 a day at most, and carries the maker's certificate."),
        "40 CFR 1060.102; 1060.137; 1060.515",
        "vessel or engine maker",
        "V",
        TYPE_TEST,
    ),
    Information(
        Text("Tanks and their venting are certified for what they lose in a day."),
        "40 CFR 1045.112(b), (d); 1060.105(b)",
        "vessel or engine maker",
        "V",
        TYPE_TEST,
    ),
    Information(
        Text("Tethered caps, no spitting back, and fittings that last: the design of new boats."),
        "40 CFR 1045.112(e); 1060.101(f)",
        "vessel or engine maker",
        "V",
        NO_FACT,
    ),
    Information(
        Text(
            "Away from its engine a portable tank stays sealed up to 3.5 psi, 24.5 kPa; it may draw"
            " air in, and its outlet does not open below 5.0 psi."
        ),
        "40 CFR 1060.105(c)",
        "vessel or engine maker",
        "V",
        Text("What opens the outlet is checked. That it is tight up to 3.5 psi is a test."),
    ),
    Information(
        Text(
            "From January 1, 2020 a new line or tank that could reasonably serve a regulated engine"
            " is taken to do so, and maker, importer, distributor and retailer take reasonable"
            " steps that none without a certificate replaces one with."
        ),
        "40 CFR 1060.601(b)(2)",
        "seller",
        "V",
        SALE,
    ),
    Information(
        Text(
            "From 2012 through 2019 the package of a line or tank without a certificate says for"
            " what it may be used."
        ),
        "40 CFR 1060.601(b)(1), (2)",
        "seller",
        "V",
        SALE,
    ),
    Information(
        Text(
            "Where the old line was certified to less than the standard, the new one need only meet"
            " the standard of today."
        ),
        "40 CFR 1060.601(b)(3)",
        "everyone",
        "V",
        Text("A relief, no duty. No rule here asks more than the standard."),
    ),
    Information(
        Text(
            "Parts that count for evaporative emissions: tank, cap, fuel line and its fittings,"
            " vapor hose, canister, and clamps where they are part of that system."
        ),
        "40 CFR 1068 Appendix A, III",
        "everyone",
        "S",
        Text("A list that other sections refer to; it asks nothing by itself."),
    ),
    Information(
        Text("Nobody removes, alters or defeats a certified part or its label."),
        "40 CFR 1068.101(b)",
        "everyone",
        "V",
        DUTY,
    ),
    Information(
        Text(
            "Nobody makes, assembles, sells, offers or imports a boat, equipment or part that does"
            " not conform, or that has a defect of which notice was given. A shop that sells hose,"
            " clamps or tanks is a seller."
        ),
        "46 U.S.C. 4307(a)(1)",
        "seller",
        "V+",
        SALE,
    ),
    Information(
        Text("Nobody sells a boat or part with a false or misleading label."),
        "46 U.S.C. 4307(a)(2)",
        "everyone",
        "V+",
        DUTY,
    ),
    Information(
        Text("Ventilation and flame control that do not meet the rules are unsafe conditions too."),
        "33 CFR 177.07(d), (e)",
        "operator",
        "V",
        Text("Checked as the rules of ventilation and flame control, not a second time."),
    ),
    Information(
        Text("Canada: the blower runs 4 minutes before a start, and fueling has its own rules."),
        "SOR/2010-91, Part 10 and section 1002",
        "operator",
        "V",
        DUTY,
    ),
    Information(
        Text(
            "Canada: the fuel system is kept within its maker's limits of temperature and pressure,"
            " by owner, by operator, and by whoever answers for its maintenance."
        ),
        "SOR/2010-91, section 1004",
        KEEPER,
        "V",
        DUTY,
    ),
    Information(
        Text(
            "European Union: filling, storage, vents and supply of fuel are designed and installed"
            " so that the risk of fire and explosion is least."
        ),
        "2013/53/EU, Annex I.A 5.2",
        "boat builder",
        "S",
        NO_FACT,
    ),
    Information(
        Text("European Union: a tank's material and construction suit its capacity and the fuel."),
        "2013/53/EU, Annex I.A 5.2",
        "boat builder",
        "S",
        NO_FACT,
    ),
    Information(
        Text(
            "A clamp lies at least 1/4 in from the end of the hose, by a voluntary boat standard"
            " read second-hand; 1/2 in on fill hose, by a published handbook. The two disagree."
        ),
        "a voluntary US boat standard and a design handbook, quoted second-hand",
        "voluntary",
        "S",
        Text("How far a clamp lies from the end of its hose is not recorded in the survey."),
    ),
    Information(
        Text("European Union: lines are secured and kept from heat; tank spaces are ventilated."),
        "2013/53/EU, Annex I.A 5.2",
        "boat builder",
        "S",
        NO_FACT,
    ),
)
