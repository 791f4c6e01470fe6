"""`advisor why` and how it finds the item that is meant."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest

from tests.cli.rig import Ran, Rig

Run = Callable[..., Ran]


def test_the_chain_behind_a_verdict(run: Run, rig: Rig) -> None:
    done = run("why", rig.case, "shaft_journal", "3", "--rules", rig.rules)
    assert done.code == 0
    out = " ".join(done.out.split())
    assert out.startswith("Journal 3: RECONDITION")
    assert "worn beyond its limit" in out
    assert "limit from the engine sheet, p. 4" in out
    assert "half shell 3 lower: dirt in the oil, because" in out
    assert "many particles cut the journal" in out
    assert "case.yaml:9:" in out
    assert "rules.yaml:" in out
    assert "journal-worn" not in out
    assert "\x1b" not in done.out
    assert max(map(len, done.out.splitlines())) <= 80 or "/" in done.out


def test_ids_are_shown_when_asked_for(run: Run, rig: Rig) -> None:
    out = run("why", rig.case, "shaft_journal", "3", "--rules", rig.rules, "--ids").out
    assert "Rule journal-worn." in out
    assert "Rule shell-particles; concludes dirty_oil." in out


@pytest.mark.parametrize(
    ("place", "heads"),
    [
        (("3", "lower"), 1),
        (("3 lower",), 1),
        (("3",), 2),
        (("lower",), 3),
        (("1 to 2 lower",), 2),
        (("1", "to", "3", "upper,", "3", "lower"), 4),
        (("all",), 6),
        ((), 6),
    ],
)
def test_a_place_is_written_as_in_a_case(run: Run, rig: Rig, place: tuple[str, ...], heads: int) -> None:
    done = run("why", rig.case, "half_shell", *place, "--rules", rig.rules)
    assert done.code == 0
    assert sum(line.startswith("Half shell ") for line in done.out.splitlines()) == heads


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("half_shel", "3 lower"), 'did you mean "half_shell"?'),
        (("piston",), "it has shaft"),
        (("half_shell", "3 lowr"), 'did you mean "3 lower"?'),
        (("half_shell", "9 lower"), "its places are 1 upper, 1 lower"),
        (("half_shell", "lower 3"), "its places are"),
        (("half_shell", "3 to 1"), "its places are"),
        (("half_shell", "3,"), "its places are"),
        (("gasket", "2"), "leave the place out"),
    ],
)
def test_a_part_or_place_that_is_not_there(run: Run, rig: Rig, words: tuple[str, ...], hint: str) -> None:
    done = run("why", rig.case, *words, "--rules", rig.rules)
    assert done.code == 2
    assert hint in done.err
    assert done.out == ""


def test_an_unopened_part(run: Run, rig: Rig) -> None:
    out = run("why", rig.case, "lever", "--rules", rig.rules).out
    assert "Not opened, not judged." in out


def test_json_of_the_chain(run: Run, rig: Rig) -> None:
    whole = json.loads(run("why", rig.case, "half-shell", "3", "--rules", rig.rules, "--json").out)
    assert whole["case"] == "a trial case"
    assert [each["verdict"]["place"] for each in whole["why"]] == ["3 upper", "3 lower"]
    lower = whole["why"][1]
    assert lower["reasons"][0]["rule"] == "shell-particles"
    assert lower["reasons"][0]["uses"][0]["line"]["name"] == "particles"
