"""`advisor migrate`: renamed words are exchanged and nothing else changes."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.authoring.rename import present_words
from tests.cli.rig import Ran, Rig
from tests.decide import small

Run = Callable[..., Ran]

OLD_CASE = """# an old case, with its comments   \r
format: 1
case: the half_bearing case   # half_bearing in free text stays
engine_sheet: engine.yaml
history: half_bearing and grit were spoken of
bench:
  - part: "half_bearing"   # quoted
    place: 3 bottom
    findings: {grit: many, 'scoring': light}
    note: half_bearing
  - {part: half_bearing, place: "1 bottom, 2 bottom", findings: {scoring: none}}
  - part: shaft_journal
    place: 1
    readings:
      dia:
        with: mike
        values:
          front x: 59.995 mm
found_sizes:
  - {part: shaft_journal, size: 0 mm, read_on: half_bearing}
"""

RENAMED = """
renamed:
  half_bearing: half_bush
  half_bush: half_shell
  grit: particles
  bottom: lower
  dia: diameter
  mike: micrometer
"""


@pytest.fixture
def old(rig: Rig) -> Rig:
    small.ruleset(rig.rules, vocabulary=small.VOCABULARY + RENAMED)
    rig.case.write_bytes(OLD_CASE.encode())
    return rig


def test_every_word_is_exchanged_and_nothing_else(run: Run, old: Rig) -> None:
    target = old.folder / "case.migrated.yaml"
    done = run("migrate", old.case, "--rules", old.rules)
    assert done.code == 0
    assert str(target) in done.err
    expected = (
        OLD_CASE.replace('part: "half_bearing"', 'part: "half_shell"')
        .replace("{part: half_bearing", "{part: half_shell")
        .replace("3 bottom", "3 lower")
        .replace("1 bottom, 2 bottom", "1 lower, 2 lower")
        .replace("{grit: many", "{particles: many")
        .replace("dia:", "diameter:")
        .replace("with: mike", "with: micrometer")
    )
    assert target.read_bytes().decode() == expected
    assert old.case.read_bytes() == OLD_CASE.encode()
    assert run("check", target, "--rules", old.rules).code == 0


def test_what_changed_is_shown_with_its_place(run: Run, old: Rig) -> None:
    out = run("migrate", old.case, "--rules", old.rules).out.splitlines()
    assert f"{old.case}:7:11: half_bearing is now half_shell" in out
    assert f"{old.case}:8:12: bottom is now lower" in out
    assert len(out) == 8


def test_a_byte_order_mark_and_line_ends_are_kept(run: Run, old: Rig) -> None:
    text = b"\xef\xbb\xbf" + OLD_CASE.replace("\r\n", "\n").replace("\n", "\r\n").encode()
    old.case.write_bytes(text)
    into = old.folder / "new.yaml"
    assert run("migrate", old.case, "--rules", old.rules, "--into", into).code == 0
    changed = into.read_bytes()
    assert changed.startswith(b"\xef\xbb\xbf#")
    assert changed.count(b"\r\n") == text.count(b"\r\n") == changed.count(b"\n")
    assert b'part: "half_shell"' in changed


def test_nothing_to_do_writes_nothing(run: Run, rig: Rig) -> None:
    done = run("migrate", rig.case, "--rules", rig.rules)
    assert (done.code, done.out) == (0, "")
    assert "nothing was written" in done.err
    assert not (rig.folder / "case.migrated.yaml").exists()


def test_an_engine_sheet(run: Run, old: Rig) -> None:
    text = small.ENGINE.replace("half_shell", "half_bearing").replace("{diameter: 60", "{dia: 60")
    text = text.replace("size: diameter", "size: dia")
    old.engine.write_text(text, encoding="utf-8")
    into = old.folder / "engine2.yaml"
    assert run("migrate", old.engine, "--rules", old.rules, "--into", into).code == 0
    assert into.read_text(encoding="utf-8") == small.ENGINE


def test_no_file_is_written_over(run: Run, old: Rig) -> None:
    into = old.folder / "kept.yaml"
    into.write_text("kept", encoding="utf-8")
    assert run("migrate", old.case, "--rules", old.rules, "--into", into).code == 2
    assert run("migrate", old.case, "--rules", old.rules, "--into", old.case).code == 2
    assert into.read_text(encoding="utf-8") == "kept"


def test_a_word_that_is_not_typed_plainly_is_left_for_a_hand(run: Run, old: Rig) -> None:
    old.case.write_text(OLD_CASE.replace('"half_bearing"', '"half\\u005fbearing"'), encoding="utf-8")
    done = run("migrate", old.case, "--rules", old.rules)
    assert done.code == 1
    assert f"{old.case}:7:11: half_bearing is now half_shell; change it here by hand" in done.out


def test_a_file_of_a_rule_set_is_its_authors_work(run: Run, old: Rig) -> None:
    assert run("migrate", old.rules / "rules.yaml", "--rules", old.rules).code == 2


@given(st.dictionaries(st.sampled_from("abcdef"), st.sampled_from("abcdef")))
def test_a_chain_of_renames_ends_and_its_end_is_in_use(renamed: dict[str, str]) -> None:
    present = present_words(renamed)
    for old, new in present.items():
        assert new not in renamed
        step = old
        for _ in range(len(renamed)):
            step = renamed.get(step, step)
        assert step == new
    for old in renamed.keys() - present.keys():
        step = old
        for _ in range(len(renamed) + 1):
            step = renamed[step]  # a circle: it never leaves the table
