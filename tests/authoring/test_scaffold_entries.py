"""What `advisor rules new` writes is sound at once, and an author's file keeps every line that it has."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.authoring.check import Examiner
from advisor.authoring.replace import ChangedMeanwhile, write_over
from advisor.authoring.scaffold_entries import SORTS
from advisor.authoring.scaffold_insert import added, with_file
from advisor.cli.rules_new import WHAT
from advisor.faults import Faults
from advisor.sheets.text import parse
from tests.cli.conftest import run  # noqa: F401  a fixture
from tests.cli.rig import ROOT, Ran

Run = Callable[..., Ran]

NAMES = {
    "part": ("push_rod", ""),
    "finding": ("blueing", "shaft"),
    "reading": ("shaft_length", "shaft"),
    "dimension": ("shaft_wear", "shaft"),
    "operation": ("polish", "shaft"),
    "concern": ("hit", ""),
    "task": ("mark_it", ""),
    "rule": ("unseen-shaft", "shaft"),
    "limit": ("rocker_play", "bush"),
    "source": ("manual", ""),
    "caution": ("eyes", ""),
    "instrument": ("caliper", ""),
    "test": ("bushes", "bush"),
}


def arguments(what: str) -> list[str]:
    name, kind = NAMES[what]
    return ["rules", "new", what, name, "--in", "lesson", *(["--for", kind] if kind else [])]


@pytest.fixture
def lesson(run: Run, tmp_path: Path) -> Path:  # noqa: F811
    assert run("rules", "new", "ruleset", "lesson").code == 0
    return tmp_path / "lesson"


def texts(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes().decode() for path in folder.rglob("*.yaml")
    }


def kept(old: str, new: str) -> bool:
    """Whether every line of `old` stands in `new`, in its order."""
    lines = iter(new.split("\n"))
    return all(line in lines for line in old.split("\n"))


def test_every_sort_is_tried() -> None:
    assert {*NAMES, "ruleset"} == set(WHAT)
    assert {*SORTS, "ruleset", "test"} == set(WHAT)


def test_a_new_rule_set_is_sound_proves_itself_and_decides(run: Run, lesson: Path) -> None:  # noqa: F811
    checked = run("check", "lesson", "lesson/case.yaml", "--rules", "lesson")
    assert (checked.code, checked.out.count("analysed, nothing found")) == (0, 2)
    assert run("rules", "test", "lesson").out.endswith("3 passed.\n")
    decided = run("decide", "lesson/case.yaml", "--rules", "lesson")
    assert decided.code == 0
    assert all(word in decided.out for word in ("REPLACE", "RECONDITION", "REUSE", "UNDECIDED", "CAUSES"))
    assert not [name for name, text in texts(lesson).items() if "NAME" in text]


def test_its_files_are_written_as_any_new_file(lesson: Path) -> None:
    plain = lesson.parent / "plain"
    plain.mkdir()
    (plain / "file").touch()
    assert lesson.stat().st_mode == plain.stat().st_mode
    assert (lesson / "words.yaml").stat().st_mode == (plain / "file").stat().st_mode
    assert sorted(path.name for path in lesson.parent.iterdir()) == ["lesson", "plain"]


@pytest.mark.parametrize("what", NAMES)
def test_what_is_added_is_sound_and_nothing_is_lost(run: Run, lesson: Path, what: str) -> None:  # noqa: F811
    before = texts(lesson)
    done = run(*arguments(what))
    assert done.code == 0, done.err
    after = texts(lesson)
    assert all(kept(text, after[name]) for name, text in before.items())
    assert sum(after[name] != text for name, text in before.items()) + len(after) - len(before) == 1
    assert Examiner().check([str(lesson)])[0].faults == ()
    assert run("rules", "test", "lesson").code == 0
    again = run(*arguments(what))
    if what != "limit":  # which goes to the next purpose
        assert again.code != 0
        assert texts(lesson) == after


def test_everything_may_be_added_one_after_the_other(run: Run, lesson: Path) -> None:  # noqa: F811
    before = texts(lesson)
    for what in NAMES:
        assert run(*arguments(what)).code == 0
    assert all(kept(text, texts(lesson)[name]) for name, text in before.items())
    assert Examiner().check([str(lesson)])[0].faults == ()


def test_a_limit_for_every_purpose_and_then_no_more(run: Run, lesson: Path) -> None:  # noqa: F811
    assert [run(*arguments("limit")).code for _ in range(4)] == [0, 0, 0, 1]


def test_an_entry_may_go_to_a_new_file_which_is_entered_in_the_manifest(run: Run, lesson: Path) -> None:  # noqa: F811
    done = run(*arguments("rule"), "--file", "rules/shaft.yaml")
    assert done.code == 0
    assert "rules: [rules.yaml, rules/shaft.yaml]" in (lesson / "ruleset.yaml").read_text()
    assert run(*arguments("finding"), "--file", "rules/shaft.yaml").code == 1  # rules are in it
    assert Examiner().check([str(lesson)])[0].faults == ()


@pytest.mark.parametrize("file", ["../out.yaml", "/tmp/out.yaml", "rules.txt", "notes.yaml"])
def test_no_file_outside_and_none_that_is_not_listed(run: Run, lesson: Path, file: str) -> None:  # noqa: F811
    (lesson / "notes.yaml").write_text("mine\n")
    before = texts(lesson)
    done = run(*arguments("rule"), "--file", file)
    assert done.code == 1
    assert ("[file-not-listed]" if file == "notes.yaml" else "[file-outside]") in done.err
    assert texts(lesson) == before


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("rule", "Bad Name", "--for", "bush"), "write bad-name"),
        (("finding", "a-b", "--for", "bush"), "write a_b"),
        (("finding", "bent"), "add --for"),
        (("finding", "bent", "--for", "busch"), 'did you mean "bush"?'),
        (("finding", "bent", "--for", "sump"), "one of shaft, bush"),
        (("concern", "bent", "--for", "bush"), "leave --for out"),
        (("test", "bent", "--for", "bush", "--file", "x.yaml"), "leave --file out"),
        (("ruleset", "bent", "--file", "x.yaml"), "are for what goes into a rule set"),
        (("ruleset", "lesson", "--in", "."), "never written over"),
    ],
)
def test_a_wrong_call_is_told(run: Run, lesson: Path, words: tuple[str, ...], said: str) -> None:  # noqa: F811
    before = texts(lesson)
    place = () if "--in" in words else ("--in", "lesson")
    done = run("rules", "new", *words, *place)
    assert done.code == 2
    assert said in done.err
    assert texts(lesson) == before


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("rule", "scored-shaft", "--for", "shaft"), "rules.yaml:7:5: the rule set has a rule"),
        (
            ("finding", "rocker_play", "--for", "bush"),
            "has an entry rocker_play already; expected a name that is not in use",
        ),
        (("part", "bush"), "has an entry bush already"),
        (("limit", "scoring", "--for", "bush"), "scoring is no dimension of bush"),
        (("dimension", "x", "--for", "push_rod"), "nothing is measured on push_rod yet"),
        (("rule", "x", "--for", "push_rod"), "nothing can be seen or measured on push_rod yet"),
    ],
)
def test_what_cannot_be_built_on_is_told(run: Run, lesson: Path, words: tuple[str, ...], said: str) -> None:  # noqa: F811
    assert run(*arguments("part")).code == 0
    before = texts(lesson)
    done = run("rules", "new", *words, "--in", "lesson")
    assert done.code == 1
    assert said in done.err
    assert done.err.rstrip().endswith(("[name-taken]", "[nothing-to-build-on]"))
    assert texts(lesson) == before


def test_a_broken_rule_set_is_mended_first(run: Run, lesson: Path) -> None:  # noqa: F811
    (lesson / "rules.yaml").write_text("format: 1\nrools: []\n")
    done = run(*arguments("finding"))
    assert (done.code, "[unknown-key]" in done.err) == (1, True)


LINE = st.sampled_from(
    ["", "  # a remark", "# a remark", "  key_a: one", "  key_b: {a: b}", "  key_c:\n    - x\n    # inside",
     "  key_d: >-\n    folded\n    # not a remark", "  key_e: 'a # b'", "  key_f: \"# c\""]
)  # fmt: skip


def made_file(head: list[str], body: list[str], tail: list[str], ends: str) -> str:
    """A file with a section `words`, whose keys are told apart by numbers, and another after it or not."""
    numbered = [line.replace("key_", f"k{index}_") for index, line in enumerate(body)]
    lines = ["format: 1", *head, "words:", "  first: 1", *numbered, *tail]
    return ends.join("\n".join(lines).split("\n"))


@settings(max_examples=300, deadline=None)
@given(
    head=st.lists(st.sampled_from(["", "# a remark", "title: t"]), max_size=3, unique=True),
    body=st.lists(LINE, max_size=6),
    tail=st.sampled_from([[], [""], ["# of the last", "last: {a: b}"], ["", "last:", "  - a", "", "# end"]]),
    ends=st.sampled_from(["\n", "\r\n"]),
    section=st.sampled_from(["words", "items", "last"]),
)
def test_an_entry_goes_in_and_every_line_stays(
    head: list[str], body: list[str], tail: list[str], ends: str, section: str
) -> None:
    text = made_file(head, body, tail, ends)
    old = parse(text, "file.yaml").data
    assert isinstance(old, dict)
    item = section == "items" or isinstance(old.get(section), list)
    entry = ["new_one"] if item else ["new_one:", "  # why", "  label: new"]
    if section == "last" and "last: {a: b}" in text:
        with pytest.raises(Faults, match="no-place-for-entry"):
            added(text, "file.yaml", section, entry, item=item)
        return
    new = added(text, "file.yaml", section, entry, item=item)
    data = parse(new, "file.yaml").data
    assert isinstance(data, dict)
    assert kept(text.rstrip("\r\n").replace("\r", ""), new.replace("\r", ""))
    assert new.count("\r\n") == (new.count("\n") if "\r" in text else 0)
    before = old.get(section)
    if item:
        assert data[section] == [*(before or []), "new_one"]
    else:
        assert data[section] == {**(before if isinstance(before, dict) else {}), "new_one": {"label": "new"}}
    assert {**data, section: None} == {**old, section: None}


@pytest.mark.parametrize(
    "text", ["{format: 1, words: {a: b}}", "format: 1\nwords: {a: b}\n", "format: 1\nwords: [a,\n  b]\n"]
)
def test_what_stands_in_braces_is_left_to_its_author(text: str) -> None:
    with pytest.raises(Faults) as raised:
        added(text, "file.yaml", "words", ["new: 1"])
    assert [fault.code for fault in raised.value.faults] == ["no-place-for-entry"]


@pytest.mark.parametrize("empty", ["words: {}", "words: {} # none yet"])
def test_an_empty_section_is_begun(empty: str) -> None:
    new = added(f"format: 1\n{empty}\nlast: x\n", "file.yaml", "words", ["new: 1"])
    assert parse(new, "f").data == {"format": "1", "words": {"new": "1"}, "last": "x"}


@pytest.mark.parametrize(
    ("listed", "wanted"),
    [
        ("rules: [a.yaml] # mine", "rules: [a.yaml, b.yaml] # mine"),
        ("rules: ['a.yaml']", None),
        ("rules:\n  - a.yaml", "rules:\n  - a.yaml\n\n  - b.yaml"),
        ("rules:\n- a.yaml", "rules:\n- a.yaml\n\n- b.yaml"),
        ("rules: []", "rules:\n  - b.yaml"),
    ],
)
def test_a_file_is_entered_in_the_list_as_it_is_written(listed: str, wanted: str | None) -> None:
    text = f"format: 1\n{listed}\ntitle: t\n"
    if wanted is None:
        with pytest.raises(Faults):
            with_file(text, "ruleset.yaml", "rules", "b.yaml")
        return
    assert with_file(text, "ruleset.yaml", "rules", "b.yaml") == f"format: 1\n{wanted}\ntitle: t\n"


def test_a_file_that_changed_meanwhile_is_not_written_over(tmp_path: Path) -> None:
    path = tmp_path / "file.yaml"
    path.write_bytes(b"theirs")
    with pytest.raises(ChangedMeanwhile):
        write_over(path, b"new", before=b"mine")
    assert path.read_bytes() == b"theirs"
    assert list(tmp_path.iterdir()) == [path]


def test_a_link_stays_a_link_and_a_mark_stays_in_front(run: Run, lesson: Path) -> None:  # noqa: F811
    words, real = lesson / "words.yaml", lesson / "elsewhere.txt"
    real.write_bytes(b"\xef\xbb\xbf" + words.read_bytes())
    real.chmod(0o640)
    words.unlink()
    words.symlink_to(real)
    assert run(*arguments("finding")).code == 0
    assert words.is_symlink()
    assert real.read_bytes().startswith(b"\xef\xbb\xbf")
    assert b"blueing" in real.read_bytes()
    assert real.stat().st_mode & 0o777 == 0o640


def test_house_rules_take_tests_and_nothing_else(run: Run, tmp_path: Path) -> None:  # noqa: F811
    """What is declared in a house stands in files of its own; an entry put beside it would go to nobody."""
    shutil.copytree(ROOT / "rulesets", tmp_path / "rulesets")
    before = texts(tmp_path)
    done = run("rules", "new", "concern", "glow", "--in", "rulesets/fenmoor_house")
    assert (done.code, "[no-rule-set]" in done.err) == (1, True)
    assert texts(tmp_path) == before
    done = run("rules", "new", "test", "glow", "--for", "crankshaft", "--in", "rulesets/fenmoor_house")
    assert done.code == 0, done.err
    done = run("rules", "test", "rulesets/fenmoor_house", "--only", "glow")
    assert (done.code, "1 not yet answered" in done.out) == (0, True)
