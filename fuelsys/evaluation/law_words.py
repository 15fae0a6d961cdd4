"""The sentences of the answer to "is this the law on my boat?"."""

from __future__ import annotations

from typing import Final

from fuelsys.text import Text

MARKETS: Final = {"CA": Text("Canada"), "EU": Text("the European Union")}

BY_ENGINE: Final = Text("she has an installed gasoline engine other than an outboard")
BY_GENERATOR: Final = Text("an installed gasoline generator brings the whole boat under them")
REACHED: Final = (
    "Yes: the Coast Guard's rules for fuel systems, 33 CFR 183 Subpart J, are law on this boat, for"
    " {why}."
)
UNLESS_OLDER: Final = (
    "Yes, unless she was built before {first}, when the Coast Guard's rules for fuel systems,"
    " 33 CFR 183 Subpart J, were first published: {why}, and when she was built is not on file to"
    " the day that would tell."
)
OLDER: Final = (
    "She is older than the rule: she was built before {first}, when the Coast Guard's rules for"
    " fuel systems, 33 CFR 183 Subpart J, were first published. The present text has no date"
    " clause; take it as good practice."
)
LEFT_OUT: Final = Text(
    "Parts of an outboard engine itself and portable equipment are left out, 183.507."
)
DIESEL_LINES: Final = Text(
    "Their words may reach the diesel lines too, 183.505; a person must judge that."
)
NOT_REACHED: Final = Text(
    "No: the Coast Guard's rules for fuel systems, 33 CFR 183 Subpart J, reach boats with an"
    " installed gasoline engine other than an outboard, and she has none."
)
DIESEL: Final = Text(
    "No: the Coast Guard's rules for fuel systems, 33 CFR 183 Subpart J, and the EPA's for hose"
    " reach gasoline engines, and she burns diesel alone. No federal rule on the class of a"
    " pleasure boat's diesel hose was found."
)
EXEMPT: Final = Text(
    "No: an exemption from the Coast Guard's rules for fuel systems, 33 CFR 183 Subpart J, is on"
    " record for this personal watercraft, 46 U.S.C. 4305."
)
WATERCRAFT: Final = Text(
    "A person must judge: the words of the Coast Guard's rules for fuel systems, 33 CFR 183"
    " Subpart J, reach a personal watercraft, but her maker may be exempted, 46 U.S.C. 4305."
)
ELSEWHERE: Final = (
    "A person must judge whether the rules of the United States, the Coast Guard's and the EPA's,"
    " reach her: she is recorded for {market}."
)
UNKNOWN: Final = (
    "It cannot be told yet whether the Coast Guard's rules for fuel systems, 33 CFR 183 Subpart J,"
    " reach her. Not on file: {facts}."
)

EPA_REACHED: Final = (
    "The EPA's rules for hose, 40 CFR 1045 and 1060, are law on her gasoline lines: by her date"
    " of manufacture, {start} or later, their hose carries the EPA label."
)
EPA_OLDER: Final = (
    "The EPA's rules for hose, 40 CFR 1045 and 1060, are not law on her fuel lines: by her date of"
    " manufacture she is from before {start}."
)
EPA_COWL: Final = Text(
    "Line that came with an outboard goes by that engine's model year, a portable line by its own."
)
EPA_CARRIED: Final = Text("The line of a portable tank goes by its own date.")
EPA_PORTABLE: Final = (
    "The EPA's rules for hose, 40 CFR 1045 and 1060, go by the line where the tank is portable:"
    " one made on {start} or later carries the EPA label."
)
EPA_BY_TANK: Final = (
    "The EPA's rules for hose, 40 CFR 1045 and 1060, go by the tank that a line serves where an"
    " outboard drives her: they are law on the gasoline lines of {tanks}, installed on {start} or"
    " later, whose hose carries the EPA label, and not on those of a tank from before."
)
EPA_NOT_BY_TANK: Final = (
    "The EPA's rules for hose, 40 CFR 1045 and 1060, go by the tank that a line serves where an"
    " outboard drives her: they are not law on the lines of {tanks}, from before {start}."
)
EPA_TANKS_UNDATED: Final = "Not on file, for the lines of the other tanks: {facts}."
EPA_UNDATED: Final = (
    "Whether the EPA's rules for hose, 40 CFR 1045 and 1060, reach her cannot be told: they begin"
    " on {start}. Not on file to the day that would tell: {facts}."
)
EPA_UNKNOWN: Final = (
    "Whether the EPA's rules for hose, 40 CFR 1045 and 1060, reach her cannot be told yet. Not on"
    " file: {facts}."
)
EPA_DIESEL: Final = Text("The EPA's rules for hose, 40 CFR 1060.1(d), leave diesel out.")

AIR: Final = (
    "Ventilation, 33 CFR 175.201, binds whoever runs her, for she was built on {day} or later."
)
AIR_OLDER: Final = (
    "For ventilation an older rule is asked, 46 CFR 25.40-1, unless she is open, for she was built"
    " before {day}."
)
AIR_NEITHER: Final = (
    "No rule of ventilation was found that reaches her, for she was built before {day} and is open"
    " or older than the rule of ducts, 46 CFR 25.40-1."
)
AIR_UNKNOWN: Final = (
    "Which rule of ventilation is asked goes by when she was built, before {day} or later, and that"
    " is not on file."
)
AIR_FOR_HIRE: Final = (
    "She earns money: with more than {few} passengers the rule of ducts, 46 CFR 25.40-1, may hold"
    " besides."
)
LEAKS: Final = Text(
    "Whatever her engine and age, fuel that leaks or lies in the bilge is an unsafe condition,"
    " 33 CFR 177.07, and whoever runs her answers for it."
)
OWN_RULES: Final = {
    "CA": Text(
        "Canada's own rules, SOR/2010-91 and TP 1332, are asked as far as their text was read:"
        " nobody may let fuel leak, closed spaces are ventilated, hose sits on its fitting. Its"
        " classes of hose were not verified."
    ),
    "EU": Text(
        "The European Union's directive, 2013/53/EU, binds whoever brought her to market; it gives"
        " no numbers, and those of its standards were not verified."
    ),
}
COMMERCIAL: Final = Text(
    "Vessels that are inspected have rules of their own, which were not read here."
)
BOUND: Final = Text(
    "The rules of building bind her builder and whoever sells the parts; none that was read orders"
    " a shop to bring a used boat up to date."
)
GOOD_PRACTICE: Final = Text("The same text is read here as good practice, and marked so.")
