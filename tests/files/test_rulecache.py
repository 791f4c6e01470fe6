"""A kept rule set is the one that was read, and never stands in for another."""

from __future__ import annotations

from pathlib import Path

import pytest

import advisor
from advisor import rulecache
from advisor.sheets import crosscheck
from advisor.sheets.ruleset import RuleSet
from tests.decide import small
from tests.decide.house import HEAD, SIGNED, write_base, write_house


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A rule set on disk, with a cache of its own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    small.ruleset(tmp_path / "rules")
    return tmp_path / "rules"


def _kept(folder: Path) -> list[Path]:
    return sorted((folder.parent / "cache" / "rebuild-advisor").glob("*.json"))


def _fetched(folder: Path) -> RuleSet | None:
    return rulecache.fetch(rulecache.place_of(folder))


def test_what_is_kept_is_what_was_read(folder: Path) -> None:
    assert _fetched(folder) is None
    read = advisor.load_rules(folder)
    kept = _fetched(folder)
    assert kept == read
    assert kept is not None
    assert kept.digest == read.digest
    assert dict(kept.written) == dict(read.written) != {}
    assert [list(each.extents) for each in kept.vocabulary.findings.values()] == [
        list(each.extents) for each in read.vocabulary.findings.values()
    ]
    assert kept.order == read.order


def test_a_changed_file_is_read_anew(folder: Path) -> None:
    advisor.load_rules(folder)
    rules = folder / "rules.yaml"
    rules.write_text(rules.read_text().replace("at_least: many", "at_least: few"))
    assert _fetched(folder) is None
    advisor.load_rules(folder)
    assert len(_kept(folder)) == 2


@pytest.mark.parametrize("before_it_is_read", [True, False])
def test_what_changes_meanwhile_is_not_kept(
    folder: Path, monkeypatch: pytest.MonkeyPatch, before_it_is_read: bool
) -> None:
    rules = folder / "rules.yaml"
    read = crosscheck.load_ruleset

    def change() -> None:
        rules.write_text(rules.read_text().replace("at_least: many", "at_least: few"))

    def meanwhile(path: Path) -> RuleSet:
        if before_it_is_read:
            change()
        ruleset = read(path)
        change()
        return ruleset

    monkeypatch.setattr(crosscheck, "load_ruleset", meanwhile)
    advisor.load_rules(folder)
    assert _kept(folder) == []


def test_another_version_of_the_code_reads_anew(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = folder.parent / "package"
    (package / "chain").mkdir(parents=True)
    (package / "chain" / "run.py").write_text("now = 1\n")
    monkeypatch.setattr(rulecache, "_PACKAGE", package)
    advisor.load_rules(folder)
    assert _fetched(folder) is not None
    (package / "chain" / "run.py").write_text("now = 12\n")
    assert _fetched(folder) is None


def test_the_order_of_extents_is_part_of_the_digest(folder: Path) -> None:
    first = advisor.load_rules(folder).digest
    words = folder / "vocabulary.yaml"
    mild, grave = "few: a few, many: many", "many: many, few: a few"
    words.write_text(words.read_text().replace(mild, grave))
    assert advisor.load_rules(folder).digest != first


def test_a_faulty_rule_set_is_never_kept(folder: Path) -> None:
    rules = folder / "rules.yaml"
    rules.write_text(rules.read_text().replace("finding: particles", "finding: partickles", 1))
    for _ in range(2):
        with pytest.raises(advisor.Faults, match="partickles"):
            advisor.load_rules(folder)
    assert _kept(folder) == []


@pytest.mark.parametrize(
    "damage", ["", "{}", "{}\n{}", "not json\n{}", '{"name": 3}\n{"order": {}, "written": {}}']
)
def test_a_damaged_cache_only_costs_time(folder: Path, damage: str) -> None:
    read = advisor.load_rules(folder)
    (path,) = _kept(folder)
    path.write_text(damage)
    assert _fetched(folder) is None
    assert advisor.load_rules(folder) == read


@pytest.mark.parametrize("home", [None, "", "relative/cache"])
def test_no_place_for_a_cache(folder: Path, monkeypatch: pytest.MonkeyPatch, home: str | None) -> None:
    for name in ("XDG_CACHE_HOME", "HOME"):
        monkeypatch.delenv(name, raising=False)
        if home is not None:
            monkeypatch.setenv(name, home)
    assert advisor.load_rules(folder) == advisor.load_rules(folder)


def test_a_cache_that_cannot_be_written(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = folder.parent / "blocked"
    blocked.write_text("a file where a folder is wanted")
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    assert advisor.load_rules(folder) == advisor.load_rules(folder)


def test_old_ones_go(folder: Path) -> None:
    rules = folder / "rules.yaml"
    text = rules.read_text()
    for number in range(rulecache._KEPT + 4):
        rules.write_text(f"{text}\n# {number}\n")
        advisor.load_rules(folder)
    assert len(_kept(folder)) == rulecache._KEPT


@pytest.fixture
def house(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """House rules on disk over a base, with a cache of their own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    write_base(tmp_path / "base")
    change = (
        "limits:\n  - {part: shaft_journal, dimension: taper, purpose: discard, "
        f'loosen: {{at_most: {{from: new, times: "3"}}}}, {SIGNED}}}\n'
    )
    return write_house(tmp_path / "house", f"{HEAD}add:\n  - {{rules: [own.yaml], {SIGNED}}}\n{change}")


def test_house_rules_are_kept_with_their_base(house: Path) -> None:
    assert _fetched(house) is None
    read = advisor.load_rules(house)
    kept = _fetched(house)
    assert kept == read
    assert kept is not None
    assert (kept.digest, kept.house, dict(kept.written)) == (read.digest, read.house, dict(read.written))
    assert any(name.startswith("trial_house/limit changed") for name in kept.written)


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("base/rules.yaml", "at_least: many", "at_least: few"),
        ("base/ruleset.yaml", "1.2.3", "1.2.4"),
        ("base/instruments.yaml", "0.0005 mm", "0.0004 mm"),
        ("house/own.yaml", "is: straw", "is: blue"),
        ("house/house.yaml", '"3"', '"4"'),
    ],
)
def test_a_change_in_house_or_base_is_read_anew(house: Path, name: str, old: str, new: str) -> None:
    before = advisor.load_rules(house)
    file = house.parent / name
    assert old in file.read_text()
    text = file.read_text().replace(old, new)
    if name == "house/own.yaml":
        text = text.replace("{heat: straw}", "{heat: blue}")
    file.write_text(text)
    assert _fetched(house) is None
    assert advisor.load_rules(house).digest != before.digest


def test_another_base_of_the_same_shape_is_another(house: Path) -> None:
    """The same house rules over a base elsewhere: only the base tells them apart."""
    first = advisor.load_rules(house)
    other = house.parent / "other"
    write_base(other / "base")
    rules = other / "base" / "rules.yaml"
    rules.write_text(rules.read_text().replace("a crack grows", "every crack grows"))
    write_house(other / "house", (house / "house.yaml").read_text())
    assert advisor.load_rules(other / "house").digest != first.digest


def test_a_house_whose_base_is_gone_is_not_fetched(house: Path) -> None:
    advisor.load_rules(house)
    (house.parent / "base" / "ruleset.yaml").unlink()
    assert rulecache.place_of(house) is None
    with pytest.raises(advisor.Faults, match="house-base-folder"):
        advisor.load_rules(house)
