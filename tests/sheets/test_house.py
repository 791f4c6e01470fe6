"""House rules put together with their base: what changes, what stays, and who is told to have decided it."""

from __future__ import annotations

import itertools
import shutil
from decimal import Decimal
from pathlib import Path

import pytest

from advisor.faults import Faults
from advisor.files import load_rules
from advisor.sheets.crosscheck import load_ruleset
from advisor.sheets.rule_of_thumb import HouseLimit
from advisor.sheets.ruleset import RuleSet, read_files
from tests.decide.house import HEAD, OWN_RULES, SIGNED, write_base, write_house

RETIRE = f"retire:\n  - {{rule: shell-scored, {SIGNED}}}\n"
TIGHTEN = (
    "limits:\n  - {part: shaft_journal, dimension: taper, purpose: discard, "
    f'tighten: {{at_most: {{from: new, times: "1.5"}}}}, {SIGNED}}}\n'
)
LOOSEN = TIGHTEN.replace("tighten", "loosen").replace("1.5", "2.5")
FOLLOW = f"choose:\n  - {{rule: journal-tapered, follow: if_scored, {SIGNED}}}\n"
FOLLOW_LIMIT = (
    "choose:\n  - {limit: {part: shaft_journal, dimension: taper, purpose: discard}, "
    f"follow: heavy_duty, {SIGNED}}}\n"
)
SURER = f'probabilities:\n  - {{consequence: mild, inside: "0.99", {SIGNED}}}\n'
CERTIFICATE = (
    "instruments:\n  - {instrument: micrometer, limit: 0.002 mm, certificate: no. 7, "
    "by: A. Foreman, on: 2026-03-14}\n"
)
ADD = f"add:\n  - {{rules: [own.yaml], vocabulary: [words.yaml], {SIGNED}}}\n"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A folder with the base."""
    write_base(tmp_path / "base")
    return tmp_path


def resolved(place: Path, text: str = "", name: str = "house") -> RuleSet:
    """The base with house rules in it."""
    return load_ruleset(write_house(place / name, HEAD + text))


def base_of(place: Path) -> RuleSet:
    return load_ruleset(place / "base")


def rule_ids(rules: RuleSet) -> set[str]:
    return {rule.id for rule in rules.rules}


def taper(rules: RuleSet) -> HouseLimit:
    found = [each for each in rules.limits if (each.dimension, each.purpose) == ("taper", "discard")]
    assert len(found) == 1
    assert isinstance(found[0], HouseLimit)
    return found[0]


def test_an_empty_house_changes_nothing_but_the_digest(place: Path) -> None:
    base, whole = base_of(place), resolved(place)
    assert whole.digest != base.digest
    assert (whole.rules, whole.limits, whole.vocabulary) == (base.rules, base.limits, base.vocabulary)
    assert (whole.name, whole.version) == (base.name, base.version)
    (layer,) = whole.house
    assert (layer.name, layer.base.digest, layer.changes) == ("trial_house", base.digest, ())


def test_a_rule_is_retired_with_its_examples(place: Path) -> None:
    whole = resolved(place, RETIRE)
    assert rule_ids(base_of(place)) - rule_ids(whole) == {"shell-scored"}
    (change,) = whole.house[0].changes
    assert (change.kind, change.subject, change.by, change.on) == (
        "rule retired",
        "shell-scored",
        "A. Foreman",
        "2026-03-14",
    )
    assert change.looser
    assert not change.grave


def test_a_limit_is_tightened_and_keeps_what_it_was(place: Path) -> None:
    limit = taper(resolved(place, TIGHTEN))
    assert limit.at_most is not None
    assert limit.at_most.times == Decimal("1.5")
    assert limit.instead_of.at_most is not None
    assert limit.instead_of.at_most.times == 2
    assert (limit.change, limit.by, limit.why) == ("tighten", "A. Foreman", "it was so decided")


def test_a_loosened_limit_is_told_as_grave_where_the_part_is(place: Path) -> None:
    (change,) = resolved(place, LOOSEN).house[0].changes
    assert (change.looser, change.grave, change.harm) == (True, True, "wrecks it")
    assert change.says == (
        "limit for discard of taper on journal loosened from at most 2 times the limit for new "
        "to at most 2.5 times the limit for new"
    )


def test_an_alternative_of_a_rule_is_followed(place: Path) -> None:
    whole = resolved(place, FOLLOW)
    rule = next(rule for rule in whole.rules if rule.id == "journal-tapered")
    assert rule.because == "taper alone does no harm"
    assert [cite.where for cite in rule.cite] == ["p. 10"]
    assert rule.then == next(each for each in base_of(place).rules if each.id == rule.id).then
    (change,) = whole.house[0].changes
    assert change.looser
    assert "may be the milder" in change.says


def test_a_harsher_alternative_is_not_told_as_milder(place: Path) -> None:
    (change,) = resolved(place, FOLLOW.replace("if_scored", "outright")).house[0].changes
    assert not change.looser


def test_an_alternative_of_a_limit_is_followed(place: Path) -> None:
    limit = taper(resolved(place, FOLLOW_LIMIT))
    assert limit.change == "tighten"
    assert [cite.where for cite in limit.cite] == ["p. 3"]


def test_probabilities_and_instruments_are_set(place: Path) -> None:
    whole = resolved(place, SURER + CERTIFICATE)
    assert whole.vocabulary.consequences["mild"].inside == Decimal("0.99")
    assert whole.vocabulary.consequences["mild"].outside == Decimal("0.05")
    assert whole.instruments["micrometer"].limit.text == "0.002 mm"
    assert [change.looser for change in whole.house[0].changes] == [False, False]


def test_a_lower_probability_is_told_as_milder(place: Path) -> None:
    (change,) = resolved(place, SURER.replace("0.99", "0.8")).house[0].changes
    assert change.looser
    assert change.says == "mild: a size counts as inside at a probability of 0.8, not 0.95"


def test_rules_and_words_are_added(place: Path) -> None:
    whole = resolved(place, ADD)
    assert rule_ids(whole) - rule_ids(base_of(place)) == {"house-straw-journal"}
    assert "rust" in whole.vocabulary.findings
    assert whole.written["house-straw-journal"] == "trial_house/own.yaml:3:5"
    assert whole.house_rules["house-straw-journal"].by == "A. Foreman"


ALL = (RETIRE, TIGHTEN, FOLLOW, SURER, CERTIFICATE, ADD)


def test_the_order_of_sections_changes_nothing(place: Path) -> None:
    wholes = {resolved(place, "".join(order)).digest for order in itertools.permutations(ALL, len(ALL))}
    assert len(wholes) == 1


def test_the_order_of_entries_changes_nothing(place: Path) -> None:
    entries = [
        f"  - {{rule: shell-scored, {SIGNED}}}\n",
        f"  - {{rule: shell-play, {SIGNED}}}\n",
        f"  - {{rule: gasket-always, {SIGNED}}}\n",
    ]
    limits = [
        TIGHTEN.removeprefix("limits:\n"),
        "  - {part: shaft_journal, dimension: taper, purpose: reassembly, "
        f"tighten: {{at_most: {{plus: 0.005 mm}}}}, {SIGNED}}}\n",
    ]
    wholes = [
        resolved(place, "retire:\n" + "".join(retired) + "limits:\n" + "".join(changed))
        for retired in itertools.permutations(entries)
        for changed in itertools.permutations(limits)
    ]
    assert len({whole.digest for whole in wholes}) == 1
    assert len({whole.house for whole in wholes}) == 1


def test_a_resolved_rule_set_is_read_back_from_its_record(place: Path) -> None:
    whole = resolved(place, "".join(ALL))
    again = RuleSet.of_record(whole.record(), whole.order)
    assert again == whole
    assert again.digest == whole.digest
    assert isinstance(taper(again), HouseLimit)


def test_every_change_counts_in_the_digest(place: Path) -> None:
    digests = {resolved(place, text).digest for text in ("", *ALL, LOOSEN, FOLLOW_LIMIT)}
    assert len(digests) == len(ALL) + 3
    other = RETIRE.replace("A. Foreman", "B. Foreman")
    assert resolved(place, other).digest != resolved(place, RETIRE).digest


def test_a_changed_base_changes_the_digest_and_is_told(place: Path) -> None:
    pinned = HEAD.replace("version: 1.2.3}", f"digest: {base_of(place).digest[:16]}}}")
    write_house(place / "house", pinned)
    before = load_ruleset(place / "house")
    assert before.house[0].drift == ""
    rules = place / "base" / "rules.yaml"
    rules.write_text(rules.read_text().replace("because: a crack grows", "because: every crack grows"))
    after = load_ruleset(place / "house")
    assert after.digest != before.digest
    assert "has changed since the house rules were written" in after.house[0].drift
    assert before.house[0].base.digest[:12] in after.house[0].drift


def test_a_newer_version_of_the_base_is_told(place: Path) -> None:
    manifest = place / "base" / "ruleset.yaml"
    manifest.write_text(manifest.read_text().replace("1.2.3", "1.3.0"))
    drift = resolved(place).house[0].drift
    assert drift == (
        "the base trial is version 1.3.0 now, and the house rules were written against version 1.2.3"
    )


def test_what_the_base_no_longer_has_is_a_fault(place: Path) -> None:
    assert "shell-scored" not in rule_ids(resolved(place, RETIRE))
    rules = place / "base" / "rules.yaml"
    rules.write_text(rules.read_text().replace("id: shell-scored", "id: shell-has-scores"))
    with pytest.raises(
        Faults, match=r'shell-scored is not a rule of trial; .*did you mean "shell-has-scores"'
    ):
        resolved(place, RETIRE)


def test_house_rules_over_house_rules(place: Path) -> None:
    write_house(place / "works", HEAD.replace("trial_house", "works") + TIGHTEN + RETIRE)
    branch = HEAD.replace("../base, version: 1.2.3", "../works, version: 1.0.0")
    write_house(place / "branch", branch + LOOSEN.replace("2.5", "1.8"))
    whole = load_ruleset(place / "branch")
    assert [layer.name for layer in whole.house] == ["works", "trial_house"]
    assert "shell-scored" not in rule_ids(whole)
    limit = taper(whole)
    assert limit.change == "loosen"
    assert isinstance(limit.instead_of, HouseLimit)
    assert whole.house[1].base.name == "works"
    assert (
        whole.house[1]
        .changes[0]
        .says.startswith(
            "limit for discard of taper on journal loosened from at most 1.5 times the limit for new"
        )
    )
    assert RuleSet.of_record(whole.record(), whole.order) == whole
    # The branch cannot retire what the works has retired.
    write_house(place / "branch", branch + RETIRE)
    with pytest.raises(Faults, match="shell-scored is not a rule of works"):
        load_ruleset(place / "branch")


def test_faults_in_a_rule_that_the_house_changed_are_at_their_places(place: Path) -> None:
    # A retired rule stands before others in its file; their places must not move.
    rules = place / "base" / "rules.yaml"
    rules.write_text(
        rules.read_text().replace("finding: heat, at_least: blue", "finding: heat, at_least: bleu")
    )
    line = next(number for number, text in enumerate(rules.read_text().splitlines(), 1) if "bleu" in text)
    with pytest.raises(Faults) as raised:
        resolved(place, RETIRE + FOLLOW)
    (fault,) = raised.value.faults
    assert fault.at is not None
    assert (fault.at.file, fault.at.line) == (str(rules), line)
    assert not fault.what.startswith("with the house rules")


def test_the_files_are_those_of_any_rule_set(place: Path) -> None:
    write_house(place / "house", HEAD + "".join(ALL))
    files = read_files(place / "house")
    for number, (model, document) in enumerate(files.rules):
        for index, rule in enumerate(model.rules):
            at = document.positions["rules", index, "id"]
            assert rule.id in Path(at.file).read_text().splitlines()[at.line - 1], number


def test_a_base_that_comes_with_the_program(tmp_path: Path) -> None:
    text = HEAD.replace("folder: ../base, version: 1.2.3", "shipped: engine, version: 0.1.0")
    whole = load_rules(write_house(tmp_path / "house", text))
    assert whole.house[0].base.digest == load_rules().digest


def test_a_copied_pair_decides_alike(place: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    whole = resolved(place, "".join(ALL))
    other = tmp_path_factory.mktemp("elsewhere")
    shutil.copytree(place / "base", other / "base")
    shutil.copytree(place / "house", other / "house")
    assert load_ruleset(other / "house").digest == whole.digest


def test_own_rules_are_checked_like_any(place: Path) -> None:
    house = write_house(place / "house", HEAD + ADD)
    (house / "own.yaml").write_text(OWN_RULES.replace("finding: heat", "finding: heet"))
    with pytest.raises(Faults, match=r"own\.yaml:5:21: heet is not a finding"):
        load_ruleset(house)
