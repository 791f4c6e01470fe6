"""Files that people send: only plain ones of a bounded size are read, and none outside their folder."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

import advisor
from advisor.files import load_case
from advisor.sheets.ruleset import inside
from tests.decide import small


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A rule set on disk, with a cache of its own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    small.ruleset(tmp_path / "rules")
    return tmp_path / "rules"


def pipe(path: Path) -> None:
    os.mkfifo(path)


def endless(path: Path) -> None:
    path.symlink_to("/dev/zero")


def huge(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(1 << 40)


ODD = (pipe, endless, huge)


@pytest.mark.parametrize("make", ODD, ids=lambda make: make.__name__)
def test_what_lies_beside_a_rule_set_is_not_touched(folder: Path, make: Callable[[Path], None]) -> None:
    make(folder / "notes.yaml")
    assert advisor.load_rules(folder) == advisor.load_rules(folder)


@pytest.mark.parametrize("name", ["ruleset.yaml", "rules.yaml"])
@pytest.mark.parametrize(
    ("make", "code"), [(pipe, "not-a-file"), (endless, "not-a-file"), (huge, "file-too-large")]
)
def test_what_is_no_file_is_refused(folder: Path, name: str, make: Callable[[Path], None], code: str) -> None:
    (folder / name).unlink()
    make(folder / name)
    if make is endless and name != "ruleset.yaml":
        code = "file-outside"
    with pytest.raises(advisor.Faults, match=code):
        advisor.load_rules(folder)


def test_a_link_out_of_the_folder_is_refused(folder: Path) -> None:
    outside = folder.parent / "outside.yaml"
    (folder / "rules.yaml").rename(outside)
    (folder / "rules.yaml").symlink_to(outside)
    with pytest.raises(advisor.Faults, match="file-outside"):
        advisor.load_rules(folder)
    (folder / "rules.yaml").unlink()
    (folder / "kept.yaml").write_text(outside.read_text())
    (folder / "rules.yaml").symlink_to("kept.yaml")
    assert advisor.load_rules(folder).rules


def test_a_folder_may_itself_be_a_link(folder: Path) -> None:
    (folder.parent / "link").symlink_to(folder)
    assert advisor.load_rules(folder.parent / "link") == advisor.load_rules(folder)


def test_the_engine_sheet_lies_where_the_case_does(folder: Path) -> None:
    rules = advisor.load_rules(folder)
    job = folder.parent / "job"
    job.mkdir()
    (job / "case.yaml").write_text("format: 1\ncase: a trial\nengine_sheet: sheets/engine.yaml\n")
    (folder.parent / "sheets").mkdir()
    (folder.parent / "sheets" / "engine.yaml").write_text(small.ENGINE)
    (job / "sheets").symlink_to("../sheets")
    with pytest.raises(advisor.Faults, match=r"case.yaml:3:15: .*\[file-outside\]"):
        load_case(job / "case.yaml", rules)
    (job / "sheets").unlink()
    shutil.copytree(folder.parent / "sheets", job / "sheets")
    assert load_case(job / "case.yaml", rules).sheet.engine == "the rig"


def test_links_in_a_circle_are_left_to_the_reader(folder: Path) -> None:
    (folder / "rules.yaml").unlink()
    (folder / "rules.yaml").symlink_to("rules.yaml")
    with pytest.raises(advisor.Faults, match="not-readable"):
        advisor.load_rules(folder)


@pytest.mark.parametrize(
    ("name", "stays"),
    [
        ("rules.yaml", True),
        ("sub/rules.yaml", True),
        ("../rules.yaml", False),
        ("sub/../../rules.yaml", False),
        ("/etc/passwd", False),
        ("..\\rules.yaml", False),
        (" ", False),
        ("out/rules.yaml", False),
        ("out", False),
        ("here/rules.yaml", True),
    ],
)
def test_file_names_stay_inside_their_folder(tmp_path: Path, name: str, stays: bool) -> None:
    folder = tmp_path / "folder"
    (folder / "sub").mkdir(parents=True)
    (folder / "out").symlink_to("..")
    (folder / "here").symlink_to("sub")
    assert inside(folder, name) is stays


def written(folder: Path, case: str, engine: str = small.ENGINE) -> Path:
    """A case in its folder, with an engine sheet and a rule file beside it."""
    for name, text in (("case.yaml", case), ("engine.yaml", engine), ("rules.yaml", small.RULES)):
        (folder / name).write_text(text, encoding="utf-8")
    return folder / "case.yaml"


CASE = "format: 1\ncase: a trial\nengine_sheet: engine.yaml\nbench: []\n"


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("engine.yaml", "engine.yaml:2:1: this file is an engine sheet; expected a case; "),
        ("rules.yaml", "rules.yaml:2:1: this file is a rule file of a rule set; expected a case; "),
    ],
)
def test_another_sort_of_file_than_a_case_is_told_once(folder: Path, name: str, told: str) -> None:
    rules = advisor.load_rules(folder)
    path = written(folder, CASE).with_name(name)
    with pytest.raises(advisor.Faults) as raised:
        load_case(path, rules)
    (fault,) = raised.value.faults
    assert str(fault).split("/")[-1].replace(":1:1:", ":2:1:").startswith(told)


@pytest.mark.parametrize(
    ("named", "code", "place"),
    [
        ("case.yaml", "other-file", "case.yaml:1:1"),
        ("rules.yaml", "other-file", "rules.yaml:2:1"),
        ("motor.yaml", "no-file", "case.yaml:3:15"),
        (".", "not-a-file", "case.yaml:3:15"),
    ],
)
def test_what_is_no_engine_sheet_is_told_once_and_at_its_place(
    folder: Path, named: str, code: str, place: str
) -> None:
    rules = advisor.load_rules(folder)
    path = written(folder, CASE.replace("engine.yaml", named))
    with pytest.raises(advisor.Faults) as raised:
        load_case(path, rules)
    (fault,) = raised.value.faults
    assert (fault.code, str(fault.at).split("/")[-1]) == (code, place)
