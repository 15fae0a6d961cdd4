"""`manage.py evaluate` as a person and as a program meet it."""

from __future__ import annotations

import io
import json
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import yaml
from django.core.management import CommandError, call_command

from fuelsys.document import read, read_object
from fuelsys.evaluation import evaluate, law_on_boat
from fuelsys.rules.scope import scopes
from fuelsys.text import Figure
from tests.fuelsys.documents import EXAMPLES, NAMES, changed, example, example_text, small

DAY = "2026-11-25"

# (exit status, standard output, standard error)
Ran = tuple[int, str, str]
Run = Callable[..., Ran]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Run:
    def runs(*arguments: str, stdin: bytes = b"") -> Ran:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin)))
        out, err = io.StringIO(), io.StringIO()
        status: object = 0
        try:
            call_command("evaluate", *arguments, stdout=out, stderr=err, no_color=True)
        except SystemExit as left:
            status = left.code
        assert isinstance(status, int)
        return status, out.getvalue(), err.getvalue()

    return runs


@pytest.fixture
def write(tmp_path: Path) -> Callable[[str, Any], str]:
    def writes(name: str, data: Any) -> str:
        place = tmp_path / name
        place.write_text(data if isinstance(data, str) else json.dumps(data), encoding="utf-8")
        return str(place)

    return writes


def path_of(name: str) -> str:
    return str(EXAMPLES / f"{name}.json")


@pytest.mark.parametrize("name", NAMES)
def test_json_of_an_example_is_the_evaluation_and_nothing_else(run: Run, name: str) -> None:
    status, out, err = run(path_of(name), "--json", "--on", DAY)
    expected = evaluate(read(example_text(name)), on=date(2026, 11, 25)).to_json()
    assert (status, err) == (0, "")
    assert json.loads(out) == json.loads(json.dumps(expected))
    assert list(json.loads(out)) == list(expected)
    assert out.endswith("}\n")
    assert out.count("\n") == 1


def test_several_files_are_one_line_each_in_order(run: Run) -> None:
    status, out, _ = run(*map(path_of, NAMES), "--json", "--on", DAY)
    digests = [json.loads(line)["ruleset"]["document_sha256"] for line in out.splitlines()]
    assert status == 0
    assert digests == [read(example_text(name)).sha256 for name in NAMES]


def test_a_bad_file_among_good_ones_stands_in_its_line(
    run: Run, write: Callable[[str, Any], str]
) -> None:
    bad = write("bad.json", changed("boat", "kind", to="raft"))
    status, out, err = run(path_of(NAMES[0]), bad, path_of(NAMES[1]), "--json", "--on", DAY)
    first, second, third = map(json.loads, out.splitlines())
    assert (status, err) == (2, "")
    assert first["format"] == third["format"] == "evaluation/1"
    assert second == {
        "format": "problems/1",
        "problems": [
            {
                "path": "boat.kind",
                "found": '"raft"',
                "expected": "one of motorboat, personal_watercraft",
            }
        ],
    }


def test_problems_go_to_standard_error_every_one(
    run: Run, write: Callable[[str, Any], str]
) -> None:
    data = changed("boat", "kind", to="raft")
    data["tanks"][0]["capacity_gal"] = -1
    bad = write("bad.json", data)
    status, out, err = run(bad)
    assert (status, out) == (2, "")
    assert err.splitlines() == [
        f'{bad}: boat.kind: found "raft"; expected one of motorboat, personal_watercraft',
        f"{bad}: tanks[T1].capacity_gal: found -1; expected a number above 0",
    ]


def test_a_file_that_is_not_there_is_bad_input(run: Run, tmp_path: Path) -> None:
    status, out, err = run(str(tmp_path / "none.json"), "--json")
    (problem,) = json.loads(out)["problems"]
    assert (status, err) == (2, "")
    assert problem["path"] == "document"
    assert "No such file or directory" in problem["found"]
    assert run(str(tmp_path))[0] == 2


def test_bytes_that_are_no_text_are_bad_input(run: Run, tmp_path: Path) -> None:
    place = tmp_path / "latin.json"
    place.write_bytes(b'{"format": "\xe9"}')
    status, _, err = run(str(place))
    assert status == 2
    assert "text in UTF-8" in err


def test_a_practice_rule_that_does_not_exist_is_bad_input(
    run: Run, write: Callable[[str, Any], str]
) -> None:
    status, out, _ = run(write("x.json", changed("policy", to={"practice-x": "off"})), "--json")
    (problem,) = json.loads(out)["problems"]
    assert status == 2
    assert problem["path"] == "policy.practice-x"


def test_a_dash_reads_standard_input_as_json_or_yaml(run: Run) -> None:
    data = example(NAMES[0])
    as_json = run("-", "--json", "--on", DAY, stdin=json.dumps(data).encode())
    as_yaml = run("-", "--json", "--on", DAY, stdin=yaml.safe_dump(data).encode())
    assert as_json == as_yaml == run(path_of(NAMES[0]), "--json", "--on", DAY)
    assert as_json[0] == 0


def test_nothing_on_standard_input_is_bad_input(run: Run) -> None:
    status, out, err = run("-")
    assert (status, out) == (2, "")
    assert err.startswith("standard input: document: found nothing")


@pytest.mark.parametrize("suffix", [".yaml", ".yml", ".txt", ""])
def test_yaml_by_name_or_by_look(run: Run, write: Callable[[str, Any], str], suffix: str) -> None:
    place = write(f"boat{suffix}", yaml.safe_dump(small()))
    assert run(place, "--json")[0] == 0


def test_json_by_name_is_not_taken_for_yaml(run: Run, write: Callable[[str, Any], str]) -> None:
    status, _, err = run(write("boat.json", "format: fuel-system/1"))
    assert status == 2
    assert "a JSON document (RFC 8259)" in err


def test_strict_exits_1_when_an_outcome_is_fail_and_only_then(run: Run) -> None:
    # expected.md of the contract: slack-tide found has fails; as proposed only advice is left.
    found, proposed = path_of("slack-tide-found"), path_of("slack-tide-proposed")
    assert run(found, "--json", "--on", DAY)[0] == 0
    assert run(found, "--json", "--on", DAY, "--strict")[0] == 1
    assert run(proposed, "--json", "--on", DAY, "--strict")[0] == 0


def test_the_highest_status_is_the_exit(run: Run, write: Callable[[str, Any], str]) -> None:
    found = path_of("slack-tide-found")
    assert run(write("bad.json", "{"), found, "--json", "--strict")[0] == 2


def test_curves_only_when_asked_for(run: Run) -> None:
    name = path_of("slack-tide-found")
    without = json.loads(run(name, "--json", "--on", DAY)[1])
    curves = json.loads(run(name, "--json", "--on", DAY, "--curves")[1])
    assert "discharge_curve" not in without["figures"]
    points = curves["figures"]["discharge_curve"]["S3"]
    assert points[0][0] == 0
    # contract: at least every 25 mm; the curve ends where the 168 in of hose end
    assert points[-1][0] == 168
    assert all(b[0] - a[0] <= 25 / 25.4 + 1e-4 for a, b in pairwise(points))


@pytest.mark.parametrize("day", ["2026-13-01", "yesterday", "20261125", "2026-W48-3", "2026-1-5"])
def test_a_day_is_written_in_full(run: Run, day: str) -> None:
    with pytest.raises(CommandError, match="YYYY-MM-DD"):
        run(path_of(NAMES[0]), "--on", day)


def test_the_rules_of_today_apply_unless_a_day_is_given(run: Run) -> None:
    before = date.today()
    on = json.loads(run(path_of(NAMES[0]), "--json")[1])["ruleset"]["on"]
    assert before <= date.fromisoformat(on) <= date.today()


@pytest.mark.parametrize("name", NAMES)
def test_the_readable_report(run: Run, name: str) -> None:
    status, out, err = run(path_of(name), "--on", DAY)
    body = json.loads(run(path_of(name), "--json", "--on", DAY)[1])
    assert (status, err) == (0, "")
    assert max(map(len, out.splitlines())) <= 80
    for segment in body["segments"]:
        assert f"\n  {segment['id']}  " in out
    flat = " ".join(out.split())
    for finding in body["findings"]:
        told = finding["outcome"] in ("fail", "review", "cannot_tell")
        assert (" ".join(finding["message"].split()) in flat) or not told


def every_figure(figures: Any) -> Iterator[dict[str, Any]]:
    """All objects that are figures, wherever they stand."""
    if isinstance(figures, dict):
        if "source" in figures:
            yield figures
        for inner in figures.values():
            yield from every_figure(inner)
    elif isinstance(figures, list):
        for inner in figures:
            yield from every_figure(inner)


@pytest.mark.parametrize("name", NAMES)
def test_the_report_prints_every_figure_whole(run: Run, name: str) -> None:
    """Value, limit, parts, inputs, assumptions, method, source, and the facts that lack."""
    _, out, _ = run(path_of(name), "--on", DAY, "--curves")
    body = json.loads(run(path_of(name), "--json", "--on", DAY, "--curves")[1])
    flat, seen = " ".join(out.split()), 0
    for found in every_figure(body["figures"]):
        seen += 1
        expected = [found["method"], found["source"], *found["assumptions"], *found["missing"]]
        if found["value"] is not None:
            expected.append(str(Figure(found["value"], found["unit"], computed=True)))
        for parts, computed in ((found.get("details") or {}, True), (found["inputs"], False)):
            expected += [
                f"{key.replace('_', ' ')} {Figure(part['value'], part['unit'], computed=computed)}"
                for key, part in parts.items()
                if part is not None
            ]
        for words in expected:
            assert " ".join(words.split()) in flat, (words, found)
    assert seen > 30
    for segment, curve in body["figures"]["discharge_curve"].items():
        at, tank, far = (Figure(number).number() for number in curve[-1])
        assert f"{at}: {tank} + {far}" in flat
        assert f" {segment} 0: " in flat
    assert max(map(len, out.splitlines())) <= 80


def test_the_report_says_for_which_heights_a_bound_holds(run: Run) -> None:
    flat = " ".join(run(path_of("slack-tide-found"), "--on", DAY)[1].split())
    bounds = re.findall(r"; at most [\d.]+ mL(.{21})", flat)
    assert set(bounds) == {", heights as measured"}


def test_the_report_answers_whether_it_is_the_law(run: Run) -> None:
    flat = " ".join(run(path_of("second-helping-found"), "--on", DAY)[1].split())
    document = read_object(example("second-helping-found"))
    assert str(law_on_boat(document, scopes(document))) in flat
    assert "binds the boat's builder; evidence V+)" in flat
    assert "Evidence: V text read; V+ text read, and again in a later copy;" in flat


def test_the_report_shows_the_worst_first_and_promises_nothing(run: Run) -> None:
    _, out, _ = run(path_of("slack-tide-found"), "--on", DAY)
    assert 0 < out.index("  FAIL  ") < out.index("  ADVICE  ")
    for word in ("certified", "approved", "compliant"):
        assert word not in out.lower().replace("epa compliant", "")


def in_a_process(*arguments: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """Run as a scheduled job would: no home, no terminal, no database that answers."""
    return subprocess.run(
        [sys.executable, "manage.py", "evaluate", *arguments],
        cwd=Path(__file__).parents[3],
        capture_output=True,
        check=True,
        env={
            "PATH": "/usr/bin:/bin",
            "SECRET_KEY": "only for this run, " * 4,
            "DATABASE_URL": "postgres://nobody@127.0.0.1:9/none",
            **environment,
        },
    )


def test_the_same_bytes_every_time_without_database_or_terminal() -> None:
    files = [*map(path_of, NAMES), "--json", "--on", DAY]
    first = in_a_process(*files, PYTHONHASHSEED="1", LC_ALL="C", PYTHONUTF8="0")
    second = in_a_process(*files, PYTHONHASHSEED="2", LC_ALL="C.UTF-8")
    assert first.stdout == second.stdout
    assert len(first.stdout.splitlines()) == len(NAMES)
    assert first.stderr == second.stderr == b""


def test_a_terminal_that_lacks_a_letter_shows_the_rest(write: Callable[[str, Any], str]) -> None:
    place = write("boat.json", changed("boat", "hin", to="QVXé"))
    shown = in_a_process(place, PYTHONIOENCODING="ascii")
    assert shown.stdout.startswith(b"Fuel system of QVX?, from")
