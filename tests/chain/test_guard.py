"""No verdict leaves where the engines differ, and no rule set runs whose absence goes round in a circle."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from advisor.chain import ready
from advisor.chain.plain import PreparedRules, evaluate
from advisor.chain.run import Firings
from advisor.chain.world import World
from advisor.faults import Faults, OurFault
from advisor.files import load_rules
from tests.decide import small
from tests.decide.deciding import decide_data, decide_text, demo, demo_data, demo_rules, small_rules
from tests.decide.test_verdicts import ALL_JOURNALS, SOUND_SHELLS

SOUND = ALL_JOURNALS + SOUND_SHELLS
Change = Callable[[dict[tuple[int, int, bool], frozenset[object]]], None]


def _rule(name: str) -> int:
    return next(number for number, rule in enumerate(small_rules().rules) if rule.id == name)


def lose_a_firing(firings: dict[tuple[int, int, bool], frozenset[object]]) -> None:
    del firings[next(key for key in sorted(firings) if key[0] == _rule("shaft-sound") and key[2])]


def add_a_firing(firings: dict[tuple[int, int, bool], frozenset[object]]) -> None:
    firings[_rule("shell-scored"), 4, False] = frozenset()


def lose_a_used_fact(firings: dict[tuple[int, int, bool], frozenset[object]]) -> None:
    key = next(key for key in sorted(firings) if key[0] == _rule("shaft-sound"))
    firings[key] = frozenset(list(firings[key])[1:])


@pytest.mark.parametrize("engine", ["run", "evaluate"])
@pytest.mark.parametrize("change", [lose_a_firing, add_a_firing, lose_a_used_fact])
def test_on_any_difference_there_is_no_verdict_and_something_to_reproduce_it(
    engine: str, change: Change, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert decide_text(SOUND).verdicts, "without a fault planted it decides"
    honest: Callable[..., Firings] = getattr(ready, engine)

    def planted(*arguments: object) -> Firings:
        firings = dict(honest(*arguments))
        change(firings)  # type: ignore[arg-type]
        return firings

    monkeypatch.setattr(ready, engine, planted)
    with pytest.raises(OurFault, match="the two rule engines differ") as raised:
        decide_text(SOUND)
    told = json.loads(raised.value.reproduce)
    assert told["ruleset"] == {"name": "trial", "version": "1.2.3", "digest": small_rules().digest}
    differing = told["only or otherwise in durable-rules"] + told["only or otherwise in the plain evaluator"]
    wanted = "shell-scored" if change is add_a_firing else "shaft-sound"
    assert differing
    assert all(line.startswith(f"{wanted} on item ") for line in differing)


def test_a_difference_on_the_demo_lets_nothing_through(monkeypatch: pytest.MonkeyPatch) -> None:
    honest = evaluate

    def forgetful(prepared: PreparedRules, world: World) -> Firings:
        firings = dict(honest(prepared, world))
        del firings[max(firings)]
        return firings

    monkeypatch.setattr(ready, "evaluate", forgetful)
    with pytest.raises(OurFault, match="no verdict is shown"):
        decide_data(demo_data(), demo_rules(), demo().sheet)


ROUND = """
format: 1
rules:
  - id: {name}
    for: {kind}
    when: {when}
    then: {{concern: {concern}}}
    because: a trial
    cite: [{{source: made_up}}]
    examples: {{fires: [{{}}], holds: [{{}}]}}
"""


def _in_two_files(folder: Path, first: str, second: str) -> None:
    small.ruleset(folder)
    manifest = (folder / "ruleset.yaml").read_text(encoding="utf-8")
    (folder / "ruleset.yaml").write_text(
        manifest.replace("rules: [rules.yaml]", "rules: [rules.yaml, one.yaml, other.yaml]"), encoding="utf-8"
    )
    (folder / "one.yaml").write_text(first, encoding="utf-8")
    (folder / "other.yaml").write_text(second, encoding="utf-8")


def test_an_absence_that_goes_round_through_two_files_is_refused_with_the_whole_circle(
    tmp_path: Path,
) -> None:
    _in_two_files(
        tmp_path,
        ROUND.format(
            name="one-round",
            kind="shaft",
            when="{absent: {concern: overheated, some: {has: shaft_journal}}}",
            concern="sound_shaft",
        ),
        ROUND.format(
            name="other-round",
            kind="shaft_journal",
            when="{concern: sound_shaft, some: {part_of: shaft}}",
            concern="overheated",
        ),
    )
    with pytest.raises(Faults) as raised:
        load_rules(tmp_path)
    (fault,) = raised.value.faults
    assert fault.code == "absence-cycle"
    assert (
        "sound_shaft on shaft needs overheated on shaft_journal to be absent (rule one-round)" in fault.what
    )
    assert "overheated on shaft_journal needs sound_shaft on shaft (rule other-round)" in fault.what
    assert fault.at is not None
    assert fault.at.file.endswith("one.yaml")


def test_a_circle_without_an_absence_in_it_is_no_fault(tmp_path: Path) -> None:
    _in_two_files(
        tmp_path,
        ROUND.format(
            name="one-round",
            kind="shaft",
            when="{concern: overheated, some: {has: shaft_journal}}",
            concern="suspect",
        ),
        ROUND.format(
            name="other-round",
            kind="shaft_journal",
            when="{concern: suspect, some: {part_of: shaft}}",
            concern="overheated",
        ),
    )
    assert len(load_rules(tmp_path).rules) == len(small_rules().rules) + 2
