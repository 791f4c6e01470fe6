"""House rules through a whole decision: which way a changed limit moves a verdict, and what is told of it."""

from __future__ import annotations

import functools
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from advisor.gauging.limits import resolve
from advisor.sheets.crosscheck import load_ruleset
from advisor.sheets.engine import EngineSheet
from advisor.sheets.engine_check import check_engine
from advisor.sheets.house_compare import direction
from advisor.sheets.rule_of_thumb import HouseLimit, LimitSize, RuleOfThumb
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.text import parse
from advisor.verdicts.model import Decision, Verdict
from tests.decide.deciding import by_item, decide_data, mildest, on
from tests.decide.house import ENGINE, HEAD, SIGNED, write_base, write_house


@functools.cache
def base() -> RuleSet:
    with tempfile.TemporaryDirectory() as folder:
        return load_ruleset(write_base(Path(folder)))


@functools.cache
def engine(new: str = "0.010", reassembly: str = "") -> EngineSheet:
    """The rig, with the maker's tapers for new journals and for reassembly; empty for none."""
    text = ENGINE
    old = "- {dimension: taper, purpose: new, at_most: 0.010 mm, read_at: p. 4}"
    assert old in text
    limits = [
        f"- {{dimension: taper, purpose: {purpose}, at_most: {size} mm, read_at: p. 4}}"
        for purpose, size in (("new", new), ("reassembly", reassembly))
        if size
    ]
    return check_engine(parse(text.replace(old, "\n      ".join(limits)), "engine.yaml"), base())


def house_of(text: str) -> RuleSet:
    with tempfile.TemporaryDirectory() as folder:
        write_base(Path(folder) / "base")
        return load_ruleset(write_house(Path(folder) / "house", HEAD + text))


def case(taper: str, scoring: str = "none") -> dict[str, Any]:
    """A case with journals of one taper in mm, measured on one side of the nominal size."""
    low = f"{60 - float(taper):.4f}"
    values = {"front x": "60.0000", "front y": "60.0000", "rear x": low, "rear y": low}
    return {
        "found_sizes": [{"part": "shaft_journal", "size": "0 mm", "read_on": "the web"}],
        "bench": [
            {
                "part": "shaft_journal",
                "place": "all",
                "findings": {"heat": "none", "scoring": scoring},
                "readings": {
                    "diameter": {
                        "limit_of_error": "0.002 mm",
                        "values": {at: f"{size} mm" for at, size in values.items()},
                    }
                },
            },
            {"part": "shaft", "findings": {"crack": "none"}},
            {"part": "half_shell", "otherwise": "none"},
        ],
    }


SIZES = (
    '{from: new, times: "0.8"}',
    '{from: new, times: "1.5"}',
    '{from: new, times: "2"}',
    '{from: new, times: "3"}',
    "{plus: 0.008 mm}",
    "{plus: 0.015 mm}",
    "{plus: 0.030 mm}",
    '{ratio: "0.0002", size: diameter}',
    '{ratio: "0.0005", size: diameter}',
    "{from: new, plus: 0.005 mm}",
    "{from: new, plus: 0.015 mm}",
)


def size(text: str) -> LimitSize:
    return LimitSize.model_validate(parse(text, "a limit").data)


def with_limit(limit: RuleOfThumb) -> RuleSet:
    """The base with one rule of thumb for the taper of used journals."""
    rest = [each for each in base().limits if (each.dimension, each.purpose) != ("taper", "discard")]
    return replace(base(), limits=(*rest, limit))


def thumb(text: str) -> RuleOfThumb:
    old = next(each for each in base().limits if (each.dimension, each.purpose) == ("taper", "discard"))
    return old.model_copy(update={"at_most": size(text), "alternatives": {}})


def changed(old: RuleOfThumb, text: str) -> HouseLimit | None:
    """`old` as a house would have it; None where that changes nothing."""
    new = old.model_copy(update={"at_most": size(text)})
    way = direction(new, old)
    if way == "none":
        return None
    fields: dict[str, Any] = {name: getattr(new, name) for name in RuleOfThumb.model_fields}
    fields |= {"by": "A. Foreman", "on": "2026-03-14", "why": "so"}
    return HouseLimit.model_construct(None, **fields, change=way, instead_of=old)


def settled_reuse(verdict: Verdict) -> bool:
    return verdict.possible == ("reuse",)


@settings(max_examples=200)
@given(
    st.sampled_from(SIZES),
    st.sampled_from(SIZES),
    st.sampled_from(("0", "0.006", "0.009", "0.012", "0.016", "0.021", "0.027", "0.034")),
    st.sampled_from(("", "0.010")),
    st.sampled_from(("", "0.012", "0.020")),
    st.sampled_from(("none", "deep")),
)
def test_a_tightened_limit_is_never_milder_and_a_loosened_one_never_harsher(
    was: str, now: str, taper: str, new: str, reassembly: str, scoring: str
) -> None:
    old = thumb(was)
    limit = changed(old, now)
    assume(limit is not None and limit.change != "exchange")
    assert limit is not None
    sheet, data = engine(new, reassembly), case(taper, scoring)
    before = by_item(decide_data(data, with_limit(old), sheet))
    after = by_item(decide_data(data, with_limit(limit), sheet))
    for name, verdict in before.items():
        harsher, milder = (after[name], verdict) if limit.change == "tighten" else (verdict, after[name])
        assert mildest(harsher) >= mildest(milder), name
        assert settled_reuse(milder) or not settled_reuse(harsher), name


@given(
    st.sampled_from(SIZES), st.sampled_from(SIZES), st.sampled_from(("", "0.010", "0.006")),
    st.sampled_from(("", "0.012", "0.020")),
)  # fmt: skip
def test_a_changed_limit_keeps_its_direction_on_every_engine(
    was: str, now: str, new: str, reassembly: str
) -> None:
    old = thumb(was)
    limit = changed(old, now)
    assume(limit is not None)
    assert limit is not None
    part = engine(new, reassembly).parts["shaft_journal"]
    before = resolve(part, "shaft_journal", "taper", "discard", [old])
    after = resolve(part, "shaft_journal", "taper", "discard", [limit])
    if limit.change == "exchange":
        return
    assert (before is None) == (after is None)
    if before is None or after is None:
        return
    assert before.at_most is not None
    assert after.at_most is not None
    if limit.change == "tighten":
        assert after.at_most <= before.at_most
    else:
        assert after.at_most >= before.at_most
    assert (after.house is None) == (after.at_most == before.at_most)


@settings(max_examples=25)
@given(
    st.sampled_from(("0", "0.009", "0.015", "0.021", "0.034")),
    st.sampled_from(("", "0.010")),
    st.sampled_from(("none", "light", "deep")),
)
def test_an_empty_house_gives_the_verdicts_of_its_base(taper: str, new: str, scoring: str) -> None:
    sheet, data = engine(new), case(taper, scoring)
    before, after = decide_data(data, base(), sheet), decide_data(data, empty_house(), sheet)
    assert before.verdicts == after.verdicts
    assert before.rulesets[0].digest != after.rulesets[0].digest


@functools.cache
def empty_house() -> RuleSet:
    return house_of("")


LOOSEN = (
    "limits:\n  - {part: shaft_journal, dimension: taper, purpose: discard, "
    f'loosen: {{at_most: {{from: new, times: "3"}}}}, {SIGNED}}}\n'
)


def journal(decision: Decision) -> Verdict:
    return on(decision, "shaft_journal", "1")


def test_a_loosened_limit_is_said_on_what_rests_on_it() -> None:
    data = case("0.024")
    assert journal(decide_data(data, base(), engine())).verdict == "recondition"
    # The wear of the same journal is inside its limit, so only the taper decides.
    verdict = journal(decide_data(data, house_of(LOOSEN), engine()))
    assert verdict.verdict == "reuse"
    assert any(
        "judged by a limit for discard that the house has loosened: A. Foreman on 2026-03-14" in note
        for note in verdict.notes
    )
    (line,) = (line for reason in verdict.reasons for line in reason.evidence if line.name == "taper")
    assert line.limit == "at most 0.030 mm"
    assert line.limit_from.endswith(
        "; house rule: loosened from at most 0.020 mm to at most 0.030 mm by A. Foreman on 2026-03-14: "
        "it was so decided"
    )


def test_a_tightened_limit_condemns_and_says_so() -> None:
    tighten = LOOSEN.replace("loosen", "tighten").replace('"3"', '"1.1"')
    verdict = journal(decide_data(case("0.016"), house_of(tighten), engine()))
    assert verdict.verdict == "recondition"
    (reason,) = (reason for reason in verdict.reasons if reason.rule == "journal-tapered")
    assert "tightened from at most 0.020 mm to at most 0.011 mm" in reason.evidence[0].limit_from


def test_a_tightened_limit_that_the_maker_contradicts_leaves_that_of_the_base() -> None:
    """The maker lets 0.018 mm go back together: a handbook's 0.011 mm for discard would be no use."""
    tighten = LOOSEN.replace("loosen", "tighten").replace('"3"', '"1.1"')
    sheet = engine("0.010", "0.018")
    before = journal(decide_data(case("0.027"), base(), sheet))
    after = journal(decide_data(case("0.027"), house_of(tighten), sheet))
    assert before.verdict == after.verdict == "recondition"
    assert not any("house rule" in line.limit_from for reason in after.reasons for line in reason.evidence)


def test_the_makers_own_figure_is_not_touched() -> None:
    text = "limits:\n  - {part: shaft_journal, dimension: taper, purpose: reassembly, "
    text += f"loosen: {{at_most: {{plus: 0.090 mm}}}}, {SIGNED}}}\n"
    part = engine("0.010", "0.012").parts["shaft_journal"]
    limit = resolve(part, "shaft_journal", "taper", "reassembly", house_of(text).limits)
    assert limit is not None
    assert (str(limit.at_most), limit.house) == ("0.012", None)


@pytest.mark.parametrize(("follow", "answer"), [("outright", "replace"), ("if_scored", "reuse")])
def test_an_alternative_decides(follow: str, answer: str) -> None:
    rules = house_of(f"choose:\n  - {{rule: journal-tapered, follow: {follow}, {SIGNED}}}\n")
    decision = decide_data(case("0.027"), rules, engine())
    assert journal(decision).verdict == answer
    if answer == "replace":
        step = next(step for step in decision.steps if step.rule == "journal-tapered")
        assert step.house == (
            "rule journal-tapered follows invented for a test (outright), by A. Foreman on 2026-03-14: "
            "it was so decided"
        )


def test_probabilities_and_a_certificate_move_the_doubt() -> None:
    data = case("0.019")
    data["bench"][0]["readings"]["diameter"].pop("limit_of_error")
    data["bench"][0]["readings"]["diameter"]["with"] = "micrometer"
    assert journal(decide_data(data, base(), engine())).verdict == "undecided"
    certificate = (
        "instruments:\n  - {instrument: micrometer, limit: 0.0005 mm, certificate: no. 7, "
        "by: A. Foreman, on: 2026-03-14}\n"
    )
    assert journal(decide_data(data, house_of(certificate), engine())).verdict == "reuse"
    daring = f'probabilities:\n  - {{consequence: grave, inside: "0.51", {SIGNED}}}\n'
    assert journal(decide_data(data, house_of(daring), engine())).verdict == "reuse"
    surer = f'probabilities:\n  - {{consequence: grave, inside: "0.9999", {SIGNED}}}\n'
    assert journal(decide_data(case("0.017"), base(), engine())).verdict == "reuse"
    assert journal(decide_data(case("0.017"), house_of(surer), engine())).verdict == "undecided"


def test_a_decision_says_whose_house_rules_it_rests_on() -> None:
    rules = house_of(LOOSEN)
    (used,) = decide_data(case("0"), rules, engine()).rulesets
    assert used.digest == rules.digest
    (layer,) = used.house
    assert (layer.name, layer.base.name, layer.base.digest) == ("trial_house", "trial", base().digest)
    assert [(change.by, change.on, change.because) for change in layer.changes] == [
        ("A. Foreman", "2026-03-14", "it was so decided")
    ]
