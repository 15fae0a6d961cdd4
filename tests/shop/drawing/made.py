"""Hypothesis strategies for fuel systems to draw: random chains on one to three tanks."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

INLINE = ("filter", "primer_bulb", "shutoff_valve", "tee", "fuel_pump", "connector",
          "selector_valve", "anti_siphon_valve", "electric_stop_valve", "canister")  # fmt: skip
ENDS = ("engine_inlet", "carburetor", "fuel_rail", "fuel_pump", "vapor_separator")
FITTINGS = {"feed": "withdrawal", "vent": "vent_nipple", "fill": "fill_spud",
            "return": "return_fitting"}  # fmt: skip
HEIGHTS = st.integers(-30, 90)


@st.composite
def systems(draw: st.DrawFn) -> dict[str, Any]:
    """1 to 3 tanks, 1 to 16 segments in chains; some branch, some facts are missing."""
    tanks: list[dict[str, Any]] = []
    for number in range(draw(st.integers(1, 3))):
        bottom = draw(st.integers(-20, 20))
        tank = {"id": f"T{number + 1}", "bottom_in": bottom,
                "top_in": bottom + draw(st.integers(4, 40)), "capacity_gal": 60}  # fmt: skip
        for key in ("bottom_in", "top_in"):
            if draw(st.integers(0, 9)) == 0:
                del tank[key]
        tanks.append(tank)
    data: dict[str, Any] = {
        "format": "fuel-system/1", "tanks": tanks, "components": [], "segments": [],
    }  # fmt: skip
    wanted = draw(st.integers(1, 16))
    while len(data["segments"]) < wanted:
        _chain(draw, data, wanted)
    return data


def _chain(draw: st.DrawFn, data: dict[str, Any], wanted: int) -> None:
    service = draw(st.sampled_from(["feed", "feed", "vent", "fill", "return"]))
    tank = draw(st.sampled_from(data["tanks"]))
    inner = [part for part in data["components"] if "tank" not in part]
    if service == "feed" and inner and draw(st.integers(0, 4)) == 0:
        near = draw(st.sampled_from(inner))
    else:
        height = tank.get("top_in", 10) + draw(st.integers(-3, 3))
        near = _part(draw, data, FITTINGS[service], height, tank=tank["id"])
        if service == "feed":
            near["anti_siphon"] = draw(st.sampled_from(["none", "spring_valve"]))
    for _ in range(draw(st.integers(1, 5)) if service == "feed" else 1):
        if len(data["segments"]) >= wanted:
            break
        kind = {"vent": "vent_fitting", "fill": "deck_fill"}.get(service)
        kind = kind or draw(st.sampled_from(INLINE if draw(st.booleans()) else ENDS))
        far = _part(draw, data, kind, draw(HEIGHTS))
        _segment(draw, data, service, near, far)
        near = far


def _part(
    draw: st.DrawFn, data: dict[str, Any], kind: str, height: int, **more: str
) -> dict[str, Any]:
    part: dict[str, Any] = {"id": f"P{len(data['components']) + 1}", "kind": kind, **more}
    if draw(st.integers(0, 11)):
        part["height_in"] = height
    data["components"].append(part)
    return part


def _segment(
    draw: st.DrawFn, data: dict[str, Any], service: str, near: dict[str, Any], far: dict[str, Any]
) -> None:
    length = draw(st.integers(1, 240))
    bends = sorted(draw(st.sets(st.integers(1, length), max_size=4)) - {length})
    heights = [near.get("height_in", 5), *draw(st.tuples(*(HEIGHTS for _ in bends))),
               far.get("height_in", 5)]  # fmt: skip
    back = service in ("fill", "return")
    route = [[d, h] for d, h in zip([0, *bends, length], heights, strict=True)]
    if back:
        route = [[length - d, h] for d, h in reversed(route)]
    segment: dict[str, Any] = {
        "id": f"S{len(data['segments']) + 1}", "service": service,
        "from": (far if back else near)["id"], "to": (near if back else far)["id"],
        "length_in": length, "route": route, "hose": {"class": "A1", "inside_diameter_in": "3/8"},
    }  # fmt: skip
    for key in ("length_in", "route", "hose"):
        if draw(st.integers(0, 11)) == 0:
            del segment[key]
    data["segments"].append(segment)
