"""`advisor start`: a skeleton that is valid as it stands and says nothing that nobody has seen."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

import advisor
from advisor.authoring.scaffold import skeleton
from advisor.sheets.case import CaseSheet
from advisor.sheets.ground import ground_of
from advisor.sheets.place_words import places as in_few_words
from advisor.sheets.text import parse
from advisor.sheets.validate import validate
from tests.cli.rig import DEMO, Ran, Rig

Run = Callable[..., Ran]


def test_the_skeleton_lies_beside_the_sheet_and_passes_the_check(run: Run, rig: Rig) -> None:
    rig.case.unlink()
    done = run("start", rig.engine, "--rules", rig.rules, "--case", 'the "pump": a trial')
    assert (done.code, done.out) == (0, "")
    assert str(rig.case) in done.err
    checked = run("check", rig.case, "--rules", rig.rules)
    assert checked.code == 0, checked.out
    assert 'the "pump": a trial' in run("decide", rig.case, "--rules", rig.rules).out


def test_the_skeleton_of_the_demo_engine_passes_and_decides_as_an_empty_case() -> None:
    rules = advisor.load_rules()
    loaded = advisor.load_case(DEMO, rules)
    text = skeleton(loaded.sheet, rules, case="empty", sheet_file="engine.yaml")
    document = parse(text, "case.yaml")
    full = advisor.decide(validate(CaseSheet, document), loaded.sheet, rules, document=document)
    nothing = CaseSheet.model_validate({"format": "1", "case": "empty", "engine_sheet": "engine.yaml"})
    empty = advisor.decide(nothing, loaded.sheet, rules)
    assert [(each.part, each.place, each.verdict, each.possible) for each in full.verdicts] == [
        (each.part, each.place, each.verdict, each.possible) for each in empty.verdicts
    ]


def named(words: str, places: list[str]) -> list[str]:
    """The places that an entry names, of those there are."""
    if words == "all":
        return places
    found = []
    for piece in words.split(", "):
        span = re.fullmatch(r"(\d+) to (\d+)(.*)", piece)
        found += (
            [f"{number}{span[3]}" for number in range(int(span[1]), int(span[2]) + 1)] if span else [piece]
        )
    assert set(found) <= set(places)
    return found


@pytest.mark.parametrize("kinds", [(), ("main_journal", "big_end_shell", "oil_pump")])
def test_every_place_finding_and_reading_stands_in_it_once(kinds: tuple[str, ...]) -> None:
    rules = advisor.load_rules()
    sheet = advisor.load_case(DEMO, rules).sheet
    form = skeleton(sheet, rules, case="c", sheet_file="e.yaml", kinds=kinds)
    document = parse(form, "case.yaml")
    case = validate(CaseSheet, document)
    ground = ground_of(sheet, rules)
    places = {kind: [" ".join(place) for place in each] for kind, each in ground.places.items()}
    entries = [(entry, place) for entry in case.bench for place in named(entry.place, places[entry.part])]
    findings = [(entry.part, place, name) for entry, place in entries for name in entry.findings]
    readings = [
        (entry.part, place, name, tuple(reading.values))
        for entry, place in entries
        for name, reading in entry.readings.items()
    ]
    # A form of some kinds has every place; the form of all says of which places to copy an entry.
    first = {kind: each if kinds else each[:1] for kind, each in places.items()}
    text = " ".join(re.sub(r"^ *# ", "", line) for line in form.splitlines())
    for kind, each in places.items():
        if not kinds and len(each) > 1 and any(kind == part for part, *_ in readings):
            assert f"Copy this entry for each of: {in_few_words(each[1:])}." in text
    places = {kind: each for kind, each in places.items() if not kinds or kind in kinds}
    vocabulary = rules.vocabulary
    assert sorted(findings) == sorted(
        (kind, place, name)
        for name, finding in vocabulary.findings.items()
        for kind in finding.kinds
        for place in places.get(kind, ())
    )
    assert sorted(readings) == sorted(
        (kind, place, name, () if reading.positions() == [""] else tuple(reading.positions()))
        for name, reading in vocabulary.readings.items()
        for kind in reading.kinds
        if kind in places
        for place in first[kind]
    )


def test_what_cleaning_destroys_comes_before_anything_is_washed() -> None:
    rules = advisor.load_rules()
    sheet = advisor.load_case(DEMO, rules).sheet
    text = skeleton(sheet, rules, case="c", sheet_file="e.yaml")
    parts = re.split(r"^  # =+$", text, flags=re.MULTILINE)
    assert len(parts) == 5
    assert "Do not wash or turn yet" in parts[1]
    vocabulary = rules.vocabulary
    for name, finding in vocabulary.findings.items():
        entries = [number for number, part in enumerate(parts) if re.search(rf"^      {name}: ", part, re.M)]
        if not any(kind in sheet.parts for kind in finding.kinds):
            assert entries == []
        elif finding.destroyed_by_cleaning or finding.moment == "running":
            assert entries == [1], name
        else:
            assert entries == [{"strip": 2, "clean": 3, "after machining": 4}[finding.moment]], name
    for name, reading in vocabulary.readings.items():
        if any(kind in sheet.parts for kind in reading.kinds) and reading.moment in ("running", "strip"):
            assert re.search(rf"^      {name}:$", parts[1], re.M), name


def test_every_extent_is_told_as_a_comment() -> None:
    rules = advisor.load_rules()
    sheet = advisor.load_case(DEMO, rules).sheet
    text = skeleton(sheet, rules, case="c", sheet_file="e.yaml")
    told = " ".join(re.sub(r"^ *# ", "", line) for line in text.splitlines() if line.lstrip().startswith("#"))
    told = " ".join(told.split())
    for finding in rules.vocabulary.findings.values():
        if any(kind in sheet.parts for kind in finding.kinds):
            assert " ".join(finding.look.split()) in told
            for extent, says in finding.extents.items():
                assert f"{extent}: {' '.join(says.split())}" in told


def test_no_file_is_written_over(run: Run, rig: Rig) -> None:
    before = rig.case.read_bytes()
    done = run("start", rig.engine, "--rules", rig.rules)
    assert done.code == 2
    assert "there already" in done.err
    assert rig.case.read_bytes() == before


def test_into_another_file_and_to_standard_output(run: Run, rig: Rig) -> None:
    into = rig.folder / "new.yaml"
    assert run("start", rig.engine, "--rules", rig.rules, "--into", into).code == 0
    done = run("start", rig.engine, "--rules", rig.rules, "--into", "-")
    assert done.code == 0
    assert done.out == into.read_text(encoding="utf-8")


def test_a_case_above_its_sheet_names_it_from_there(run: Run, rig: Rig) -> None:
    below = rig.folder / "below"
    below.mkdir()
    sheet = rig.engine.rename(below / "engine.yaml")
    into = rig.folder / "new.yaml"
    assert run("start", sheet, "--rules", rig.rules, "--into", into).code == 0
    assert "engine_sheet: below/engine.yaml" in into.read_text(encoding="utf-8")
    assert run("check", into, "--rules", rig.rules).code == 0


def test_a_case_that_could_not_reach_its_sheet_is_refused(run: Run, rig: Rig, tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    done = run("start", rig.engine, "--rules", rig.rules, "--into", tmp_path / "elsewhere" / "case.yaml")
    assert done.code == 2
    assert "copy the sheet" in done.err


@pytest.mark.parametrize("name", ['a: "b" # c', "no", "3:30", "- x", "é 漢", "[x]", "tab\there"])
def test_any_name_of_a_case_is_read_back_as_it_was_given(run: Run, rig: Rig, name: str) -> None:
    into = rig.folder / "new.yaml"
    assert run("start", rig.engine, "--rules", rig.rules, "--into", into, "--case", name).code == 0
    document = parse(into.read_text(encoding="utf-8"), "new.yaml")
    assert validate(CaseSheet, document).case == name


def test_the_form_of_some_parts_names_them_by_key_or_label(run: Run, rig: Rig) -> None:
    done = run(
        "start", rig.engine, "--rules", rig.rules, "--into", "-", "--part", "half shell", "--part", "shaft"
    )
    assert done.code == 0
    parts = {entry.part for entry in validate(CaseSheet, parse(done.out, "case.yaml")).bench}
    assert parts == {"half_shell", "shaft"}
    wrong = run("start", rig.engine, "--rules", rig.rules, "--into", "-", "--part", "piston")
    assert (wrong.code, wrong.out) == (2, "")
    assert "no part piston" in wrong.err


def test_no_line_of_the_skeleton_is_longer_than_eighty_columns() -> None:
    rules = advisor.load_rules()
    sheet = advisor.load_case(DEMO, rules).sheet
    text = skeleton(sheet, rules, case="c", sheet_file="e.yaml")
    assert [line for line in text.splitlines() if len(line) > 80] == []
