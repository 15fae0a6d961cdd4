"""Shop practice for clamps on fuel hose: metal, band, ear clamps and ties."""

from __future__ import annotations

from fuelsys.catalogue.clamp import has_screw
from fuelsys.rules.base import (
    COMMON,
    PRACTICE,
    ClampPart,
    Result,
    cannot_tell,
    failed,
    not_applicable,
    passed,
    rule,
)
from fuelsys.rules.context import Context, clamp_path
from fuelsys.rules.fastening import EACH_CLAMP, each_clamp
from fuelsys.rules.undercowl import is_under_cowl
from fuelsys.text import Text

STAINLESS = "stainless"
# What is said alike of every clamp is made once.
TIE_APART = not_applicable(Text("A tie is judged on its own."))
ALL_STAINLESS = passed(Text("The clamp is stainless throughout."))
NO_BAND = not_applicable(Text("This kind of clamp has no perforated band."))
SMOOTH = passed(Text("The band is smooth."))
NO_EAR = not_applicable(Text("This is no ear clamp."))
NO_TIE = not_applicable(Text("This is no tie."))


def _path(part: ClampPart, key: str) -> str:
    return clamp_path(part.segment.id, part.side, part.index, key)


@rule(
    id="practice-stainless-clamp",
    title="Whole clamp stainless",
    words=Text(
        "This shop uses clamps that are stainless throughout, band and screw, for a plated"
        " screw rusts first. An ear clamp has no screw to look at, and ties are judged by a rule"
        " of their own."
    ),
    regime=PRACTICE,
    applies_to=EACH_CLAMP,
    citation=COMMON,
    force="shop",
    evidence="CP",
)
@each_clamp
def stainless_clamp(part: ClampPart, context: Context) -> Result:
    """Band and screw are stainless; a plated screw fails first. An ear clamp has no screw."""
    clamp = part.clamp
    if clamp.kind == "tie":
        return TIE_APART
    screw = has_screw(clamp.kind, clamp.action)
    materials = [("band_material", clamp.band_material)]
    if screw is not False:
        materials.append(("screw_material", clamp.screw_material))
    if any(material not in (None, STAINLESS) for _, material in materials):
        return failed(
            Text("This clamp is not stainless throughout; its weakest metal rusts first."),
            remedy=Text("Fit a clamp that is stainless throughout, screw included."),
        )
    lacking = [key for key, material in materials if material is None]
    if screw is None and clamp.screw_material is None:
        lacking = ["kind", *lacking]
    if lacking:
        return cannot_tell(
            Text("Cannot tell whether this clamp is stainless throughout."),
            *(_path(part, key) for key in lacking),
            remedy=Text("Hold a magnet to band and screw and add what they are."),
        )
    return ALL_STAINLESS


@rule(
    id="practice-smooth-band",
    title="No perforated band on fuel hose",
    words=Text(
        "This shop uses no clamp with a perforated band on fuel hose: its slots cut the cover"
        " and are its weakest place. Spring clamps and ties have no such band and are left out."
    ),
    regime=PRACTICE,
    applies_to=EACH_CLAMP,
    citation=COMMON,
    force="shop",
    evidence="CP",
)
@each_clamp
def smooth_band(part: ClampPart, context: Context) -> Result:
    """A perforated band cuts cover and liner and is weak at its slots: not for fuel."""
    clamp = part.clamp
    if clamp.band == "perforated":
        return failed(
            Text("This clamp is not for fuel: its band is perforated and cuts the hose."),
            remedy=Text("Fit a clamp with a smooth band."),
        )
    if clamp.kind in ("spring", "tie"):
        return NO_BAND
    if clamp.band is None:
        return cannot_tell(
            Text("Cannot tell whether the band of this clamp is perforated."),
            _path(part, "band"),
            remedy=Text("Look at the band and add whether it is smooth or perforated."),
        )
    return SMOOTH


def _from_engine_maker(part: ClampPart) -> bool:
    return part.clamp.engine_maker_part or part.segment.engine_maker_part


def _kind_unknown(part: ClampPart, action: str) -> bool:
    """Whether a clamp of unrecorded kind could be one that closes by `action`."""
    return part.clamp.kind is None and part.clamp.action in (None, action)


@rule(
    id="practice-ear-clamp",
    title="Ear clamps where the engine maker fits them",
    words=Text(
        "This shop leaves ear clamps where the engine maker fits them and on low-pressure line"
        " under a cowl, and uses a screw clamp with a smooth band elsewhere. Other kinds of"
        " clamp are left out."
    ),
    regime=PRACTICE,
    applies_to="clamp",
    citation=COMMON,
    force="shop",
    evidence="CP",
)
def ear_clamp(part: ClampPart, context: Context) -> Result:
    """Maker-fitted lines and low-pressure lines under the cowl; elsewhere a screw clamp."""
    maker = _from_engine_maker(part)
    if _kind_unknown(part, "crimped") and not maker:
        return cannot_tell(
            Text("Cannot tell whether this is an ear clamp."),
            _path(part, "kind"),
            remedy=Text("Look at the clamp and add its kind."),
        )
    if part.clamp.kind != "ear":
        return NO_EAR
    low_pressure = part.segment.service != "pump_to_carburetor"
    if maker or (low_pressure and is_under_cowl(context, part.segment)):
        return passed(Text("The ear clamp is where the engine maker fits such clamps."))
    return failed(
        Text("Ear clamps belong where the engine maker fits them; this run is not such a place."),
        remedy=Text("Fit a smooth-band screw clamp."),
    )


@rule(
    id="practice-tie",
    title="Ties where the engine maker fits them",
    words=Text(
        "This shop takes off plastic ties that hold fuel hose, for they go slack and brittle."
        " Ties that the engine maker fits may stay until they are disturbed. Other clamps are"
        " left out."
    ),
    regime=PRACTICE,
    applies_to="clamp",
    citation=COMMON,
    force="shop",
    evidence="CP",
)
def plastic_tie(part: ClampPart, context: Context) -> Result:
    """A plastic tie goes slack and brittle; only the engine maker's own stay."""
    maker = _from_engine_maker(part)
    if _kind_unknown(part, "tie") and not maker:
        return cannot_tell(
            Text("Cannot tell whether this is a tie."),
            _path(part, "kind"),
            remedy=Text("Look at the clamp and add its kind."),
        )
    if part.clamp.kind != "tie" and part.clamp.action != "tie":
        return NO_TIE
    if maker:
        return passed(Text("The engine maker fits this tie. Replace it when it is disturbed."))
    return failed(
        Text("A tie holds this hose; it goes slack and brittle."),
        remedy=Text("Fit a smooth-band screw clamp."),
    )
