"""Loads one broken file in its surroundings: a small rule set, engine sheet and case, otherwise sound."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from advisor.authoring.cases import run_tests
from advisor.authoring.check import Examiner
from advisor.faults import Faults
from advisor.sheets.case import CaseSheet
from advisor.sheets.crosscheck import load_ruleset
from advisor.sheets.engine_check import check_engine, load_engine
from advisor.sheets.laying import lay_out
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.text import load, parse
from advisor.sheets.validate import validate
from tests.decide import house, small

HERE: Final = Path(__file__).parent

MORE_INSTRUMENTS: Final = """
  short_micrometer: {label: a short micrometer, limit: 0.002 mm, up_to: 25 mm, cite: [{source: made_up}]}
  long_micrometer: {label: a long micrometer, limit: 0.002 mm, from: 75 mm, cite: [{source: made_up}]}
  spring_balance: {label: a spring balance, measures: force, limit: 1 N, cite: [{source: made_up}]}
"""

MORE_VOCABULARY: Final = """
format: 1
axes:
  bank: {label: bank}
  row: {label: row}
kinds:
  rocker:
    label: rocker
    assembly: valves
    axes: [journal]
    answers: [reuse, replace]
    consequence: mild
    own_place: "true"
    sizes: [pull, width]
  tip: {label: tip, assembly: valves, axes: [journal, half], answers: [reuse, replace], consequence: mild}
  ball: {label: ball, assembly: valves, axes: [bank, row], answers: [reuse, replace], consequence: mild}
renamed: {scratching: scoring}
relations:
  presses_on:
    label: presses on
    links: [{of: rocker, to: tip, listed: "true"}]
readings:
  pull:
    label: pull
    kinds: [rocker]
    quantity: force
    condition: dry
    how: by hand
    instruments: [spring_balance]
dimensions:
  pull_left: {label: pull, kinds: [rocker], quantity: force, formulas: [{operator: value, reading: pull}]}
operations:
  bore_out: {label: bore out, kinds: [shaft_journal], done_by: shop, repair_size: "true", because: it is worn}
"""

PLACED: Final[Mapping[str, str]] = {
    "manifest": "ruleset.yaml",
    "sources": "sources.yaml",
    "cautions": "cautions.yaml",
    "instruments": "instruments.yaml",
    "vocabulary": "bad.yaml",
    "rules": "bad.yaml",
    "examples": "bad.yaml",
}
"""By folder of broken files: what each stands for in the rule set; bad.yaml is one file more."""


def write_ruleset(folder: Path, kind: str = "", broken: bytes = b"") -> Path:
    """Write the small rule set into `folder`; `broken` stands in it as the file of a kind of `PLACED`."""
    folder.mkdir(parents=True, exist_ok=True)
    lists = {"vocabulary": "vocabulary.yaml, more.yaml", "rules": "rules.yaml"}
    listed = "rules" if kind == "examples" else kind
    if listed in lists:
        lists[listed] += ", bad.yaml"
    manifest = small.MANIFEST.replace("[vocabulary.yaml]", f"[{lists['vocabulary']}]")
    texts = {
        "ruleset.yaml": manifest.replace("[rules.yaml]", f"[{lists['rules']}]"),
        "sources.yaml": small.SOURCES,
        "cautions.yaml": small.CAUTIONS,
        "instruments.yaml": small.INSTRUMENTS.rstrip() + MORE_INSTRUMENTS,
        "vocabulary.yaml": small.VOCABULARY,
        "more.yaml": MORE_VOCABULARY,
        "rules.yaml": small.RULES,
    }
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    if kind:
        (folder / PLACED[kind]).write_bytes(broken)
    return folder


def in_ruleset(path: Path, folder: Path, _rules: RuleSet) -> None:
    """Load the rule set with the broken file in it."""
    load_ruleset(write_ruleset(folder, path.parent.name, path.read_bytes()))


def as_engine(path: Path, _folder: Path, rules: RuleSet) -> None:
    """Load the broken file as an engine sheet."""
    load_engine(path, rules)


def as_case(path: Path, _folder: Path, rules: RuleSet) -> None:
    """Load the broken file as a case of the rig, and lay it out."""
    document = load(path)
    case = validate(CaseSheet, document)
    lay_out(check_engine(parse(small.ENGINE, "engine.yaml"), rules), case, rules, document)


def as_text(path: Path, _folder: Path, _rules: RuleSet) -> None:
    """Read the broken file."""
    load(path)


def in_house(path: Path, folder: Path, _rules: RuleSet) -> None:
    """Load the broken file as the house rules over the house's base, among other houses that it may name."""
    house.write_base(folder / "base")
    house.write_house(folder / "house", path.read_text(encoding="utf-8"))
    house.write_house(folder / "round", house.HEAD.replace("../base", "../house"))
    house.write_house(folder / "both", house.HEAD)
    (folder / "both" / "ruleset.yaml").write_text(small.MANIFEST, encoding="utf-8")
    for number in range(5):
        below = f"../deep{number - 1}" if number else "../base"
        text = house.HEAD.replace("../base", below).replace("version: 1.2.3", "version: 1.0.0")
        house.write_house(
            folder / f"deep{number}", text.replace("house: trial_house", f"house: deep{number}")
        )
    load_ruleset(folder / "house")


def with_examples(path: Path, folder: Path, _rules: RuleSet) -> None:
    """Check the rule set with the broken file in it as `advisor check` does, its examples among the rest."""
    faults = Examiner().check([str(write_ruleset(folder, "examples", path.read_bytes()))])[0].faults
    if faults:
        raise Faults(faults)


def as_tests(path: Path, folder: Path, rules: RuleSet) -> None:
    """Run the broken file as tests of the rule set, with an engine sheet beside it."""
    (folder / "engine.yaml").write_text(small.ENGINE, encoding="utf-8")
    copy = folder / path.name
    copy.write_bytes(path.read_bytes())
    faults = [fault for each in run_tests(rules, [copy]).tried for fault in each.faults]
    if faults:
        raise Faults(faults)


LOADERS: Final[Mapping[str, Callable[[Path, Path, RuleSet], None]]] = {
    "engine": as_engine,
    "case": as_case,
    "text": as_text,
    "house": in_house,
    **dict.fromkeys(PLACED, in_ruleset),
    "examples": with_examples,
    "tests": as_tests,
}


def faults_of(path: Path, folder: Path, rules: RuleSet) -> Faults | None:
    """What loading a broken file raises; None where it raises nothing."""
    try:
        LOADERS[path.parent.name](path, folder, rules)
    except Faults as faults:
        return faults
    return None


def told(faults: Faults, *folders: Path) -> list[str]:
    """The messages, with file names as they are without their folders."""
    lines = []
    for fault in faults.faults:
        line = str(fault)
        for folder in folders:
            line = line.replace(f"{folder}/", "")
        lines.append(line)
    return lines
