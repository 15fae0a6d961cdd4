"""`manage.py evaluate --trim-deg --heel-deg`: the boat as she lies afloat at rest."""

from __future__ import annotations

import copy
import io
import json
from math import cos, radians, sin
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from fuelsys.document import read_object
from tests.fuelsys.documents import small

DAY = "2026-11-25"
# Aft and to starboard of the pick-up [in]; the components of the small document.
PLACES = {"P": (0.0, 0.0), "FLT": (60.0, 10.0), "SEL": (70.0, 0.0), "PUMP": (80.0, -12.0)}


def placed() -> dict[str, Any]:
    document = small()
    for part in document["components"]:
        part["aft_in"], part["starboard_in"] = PLACES[part["id"]]
    return document


def by_hand(document: dict[str, Any], trim_deg: float, heel_deg: float) -> dict[str, Any]:
    """Every height rotated, trim first: z cos t - x sin t, then the same with the heel."""
    trim, heel = radians(trim_deg), radians(heel_deg)

    def height(z: float, place: tuple[float, float]) -> float:
        return (z * cos(trim) - place[0] * sin(trim)) * cos(heel) - place[1] * sin(heel)

    turned = copy.deepcopy(document)
    for part in turned["components"]:
        if "height_in" in part:
            part["height_in"] = height(part["height_in"], PLACES[part["id"]])
    for tank in turned["tanks"]:  # its one fitting is the pick-up
        for key in ("top_in", "bottom_in"):
            tank[key] = height(tank[key], PLACES["P"])
    (run,) = (each for each in turned["segments"] if "route" in each)
    start, end, long = PLACES[run["from"]], PLACES[run["to"]], run["route"][-1][0]
    run["route"] = [
        [s, height(z, tuple(a + (b - a) * s / long for a, b in zip(start, end, strict=True)))]
        for s, z in run["route"]
    ]
    return turned


def run(tmp_path: Path, document: dict[str, Any], *arguments: str) -> tuple[int, str, str]:
    place = tmp_path / "boat.json"
    place.write_text(json.dumps(document), encoding="utf-8")
    out, err = io.StringIO(), io.StringIO()
    status: object = 0
    try:
        call_command("evaluate", str(place), "--on", DAY, *arguments, stdout=out, stderr=err)
    except SystemExit as left:
        status = left.code
    assert isinstance(status, int)
    return status, out.getvalue(), err.getvalue()


@pytest.mark.parametrize(("trim", "heel"), [(2.0, 0.0), (0.0, 3.0), (-4.5, 2.5), (10.0, -10.0)])
def test_it_is_the_evaluation_of_heights_rotated_by_hand(
    tmp_path: Path, trim: float, heel: float
) -> None:
    turns = (f"--trim-deg={trim}", f"--heel-deg={heel}")
    status, out, _ = run(tmp_path, placed(), "--json", "--curves", *turns)
    assert status == 0
    found = json.loads(out)
    expected = json.loads(run(tmp_path, by_hand(placed(), trim, heel), "--json", "--curves")[1])
    surveyed = json.loads(run(tmp_path, placed(), "--json", "--curves")[1])
    for key in ("scope", "segments", "others", "findings", "figures"):
        assert found[key] == expected[key]
    assert found["figures"] != surveyed["figures"]
    # The file is the same: so is the hash of what was read. The angles stand beside it.
    assert found["ruleset"] == surveyed["ruleset"]
    assert (found.pop("trim_deg"), found.pop("heel_deg")) == (trim, heel)
    assert found.keys() == surveyed.keys()


def test_no_turn_is_the_survey_whether_places_are_on_file_or_not(tmp_path: Path) -> None:
    plain = run(tmp_path, small(), "--json")
    assert run(tmp_path, small(), "--json", "--trim-deg=0", "--heel-deg", "0.0") == plain
    on = read_object(small())
    assert json.loads(plain[1])["ruleset"]["document_sha256"] == on.sha256


def test_each_part_whose_place_lacks_is_named(tmp_path: Path) -> None:
    document = placed()
    del document["components"][1]["starboard_in"]
    del document["components"][2]["aft_in"]  # the selector valve has no height: not needed
    status, out, err = run(tmp_path, document, "--heel-deg=1", "--trim-deg=1")
    assert (status, out) == (2, "")
    assert "components[FLT].starboard_in" in err
    assert "SEL" not in err
    status, out, _ = run(tmp_path, document, "--json", "--heel-deg=1")
    assert (status, json.loads(out)["problems"][0]["path"]) == (2, "components[FLT].starboard_in")
    assert run(tmp_path, document, "--json", "--trim-deg=1")[0] == 0


@pytest.mark.parametrize("angle", ["10.1", "-11", "nan", "1e1", "two", "", "1_0", "0x1", "99999"])
def test_what_is_no_angle_is_refused(tmp_path: Path, angle: str) -> None:
    with pytest.raises(CommandError, match="is not an angle from -10 to 10 degrees"):
        run(tmp_path, placed(), f"--trim-deg={angle}")


def test_the_report_says_how_the_boat_lies(tmp_path: Path) -> None:
    flat = " ".join(run(tmp_path, placed(), "--trim-deg", "-1.5")[1].split())
    assert "boat.json, trimmed -1.5 degrees bow up and heeled 0 to starboard" in flat
    assert "trimmed" not in run(tmp_path, placed())[1]
