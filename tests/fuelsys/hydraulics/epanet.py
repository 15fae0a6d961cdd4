"""EPANET 2.2 through wntr's toolkit, as a second method for networks of hose."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from wntr.epanet.toolkit import ENepanet

from fuelsys.hydraulics.friction import HOSE_ROUGHNESS_M
from fuelsys.hydraulics.links import Link

DATUM_M = 10.0  # all heads above zero, so that the program has no low pressure to warn of
VISCOSITY_M2_S = 1.1e-5 * 0.3048**2  # the program's reference, of which it takes a multiple
EN_HEAD, EN_FLOW = 10, 8


def input_text(
    links: Sequence[Link],
    heads_m: Mapping[str, float],
    drawn_m3_s: Mapping[str, float],
    viscosity_m2_s: float,
) -> str:
    """A network of pipes, one run of bore each; one-way links as pipes with a check valve."""
    names = _names(links)
    lines = ["[TITLE]", "second method", "[JUNCTIONS]"]
    for name, ident in names.items():
        if name not in heads_m:
            lines.append(f"{ident} 0 {drawn_m3_s.get(name, 0.0) * 1000:.12g}")
    lines.append("[RESERVOIRS]")
    lines += [f"{names[name]} {head + DATUM_M:.9g}" for name, head in heads_m.items()]
    lines.append("[PIPES]")
    for number, link in enumerate(links):
        (run,) = link.runs
        status = "CV" if link.one_way else "Open"
        lines.append(
            f"L{number} {names[link.start]} {names[link.end]} {run.length_m:.9g}"
            f" {run.bore_m * 1000:.9g} {HOSE_ROUGHNESS_M * 1000} {run.fittings_k:.9g} {status}"
        )
    viscosity = viscosity_m2_s / VISCOSITY_M2_S
    lines += ["[TIMES]", "Duration 0", "[REPORT]", "Status No", "Summary No", "[OPTIONS]"]
    lines += ["Units LPS", "Headloss D-W", f"Viscosity {viscosity:.9g}", "Trials 200"]
    lines += ["Accuracy 1e-7", "[END]"]
    return "\n".join(lines) + "\n"


def _names(links: Sequence[Link]) -> dict[str, str]:
    places = dict.fromkeys(place for link in links for place in (link.start, link.end))
    return {place: f"N{number}" for number, place in enumerate(places)}


def solved(
    path: Path,
    links: Sequence[Link],
    *,
    heads_m: Mapping[str, float],
    drawn_m3_s: Mapping[str, float],
    viscosity_m2_s: float,
) -> tuple[dict[str, float], list[float]]:
    """Heads [m] by place and flows [m3/s] by link."""
    source = path / "network.inp"
    source.write_text(input_text(links, heads_m, drawn_m3_s, viscosity_m2_s))
    program = ENepanet(version=2.2)
    program.ENopen(str(source), str(path / "network.rpt"), str(path / "network.bin"))
    try:
        program.ENopenH()
        program.ENinitH(0)
        program.ENrunH()
        heads = {
            place: program.ENgetnodevalue(program.ENgetnodeindex(ident), EN_HEAD) - DATUM_M
            for place, ident in _names(links).items()
        }
        flows = [
            program.ENgetlinkvalue(program.ENgetlinkindex(f"L{k}"), EN_FLOW) / 1000
            for k in range(len(links))
        ]
        program.ENcloseH()
    finally:
        program.ENclose()
    return heads, flows


def once(source: Path) -> None:
    """Open, solve and close a network: what a computation with the program costs."""
    program = ENepanet(version=2.2)
    program.ENopen(str(source), str(source.with_suffix(".rpt")), str(source.with_suffix(".bin")))
    program.ENopenH()
    program.ENinitH(0)
    program.ENrunH()
    program.ENcloseH()
    program.ENclose()
