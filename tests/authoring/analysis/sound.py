"""A small rule set in which the analysis finds nothing, and edits of it. All in it is invented."""

from __future__ import annotations

import copy
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeAlias

import yaml

from advisor.authoring.analysis.bench import typed
from advisor.authoring.analysis.model import Analysis, RuleFinding
from advisor.authoring.analysis.whole import analyse
from advisor.authoring.check import check_rule_set
from advisor.sheets.ruleset import RuleSet

Data: TypeAlias = dict[str, Any]
Edit: TypeAlias = Callable[[Data], object]
"""Changes the files of a rule set, by the name of each without its ending."""

_SOUND = """
ruleset:
  format: 1
  name: sound
  version: 1.0.0
  title: A sound rule set
  vocabulary: [vocabulary.yaml]
  rules: [rules.yaml]
  sources: sources.yaml
  cautions: cautions.yaml
  instruments: instruments.yaml
sources:
  format: 1
  sources:
    made_up: {tier: memory, title: invented for a test}
cautions:
  format: 1
  cautions:
    heavy: {says: The shaft is heavy., governs: local rules for lifting, cite: [{source: made_up}]}
instruments:
  format: 1
  instruments:
    micrometer: {label: outside micrometer, limit: 0.005 mm, cite: [{source: made_up}]}
vocabulary:
  format: 1
  layout:
    fuel: {label: fuel, values: [diesel, petrol]}
  axes:
    journal: {label: journal}
    half: {label: half, values: [upper, lower]}
  consequences:
    grave: {label: wrecks it, inside: 0.95, outside: 0.05}
  kinds:
    shaft:
      label: shaft
      assembly: rotating parts
      answers: [reuse, replace]
      consequence: grave
      properties: {treatment: [plain, nitrided]}
      cautions: [heavy]
    journal:
      label: journal
      assembly: rotating parts
      axes: [journal]
      answers: [reuse, recondition, replace]
      consequence: grave
      sizes: [diameter]
      evidence: [{dimension: wear, before: [reuse, recondition], because: the eye does not see it}]
    shell:
      label: half shell
      assembly: rotating parts
      axes: [journal, half]
      answers: [reuse, replace]
      consequence: grave
  relations:
    carries: {label: carries, links: [{of: journal, to: shell, by: [journal]}]}
    runs_on: {label: runs on, links: [{of: shell, to: journal, by: [journal]}]}
    has: {label: has, links: [{of: shaft, to: journal}]}
  findings:
    scoring:
      label: scoring
      kinds: [shell]
      look: drag a fingernail across
      extents: {none: smooth, light: the nail passes, deep: the nail catches}
    heat:
      label: heat colour
      kinds: [journal]
      look: in daylight
      extents: {none: bright, straw: straw, blue: blue}
    crack:
      label: crack
      kinds: [shaft]
      look: by magnetic particles
      extents: {none: no line, line: a line}
  readings:
    diameter:
      label: diameter
      kinds: [journal]
      quantity: length
      sections: [front, rear]
      directions: [x, y]
      condition: clean and dry
      how: at right angles
      instruments: [micrometer]
    bore:
      label: fitted bore
      kinds: [shell]
      quantity: length
      condition: cap torqued
      how: at right angles to the joint
      instruments: [micrometer]
  dimensions:
    wear:
      label: wear
      kinds: [journal]
      quantity: length
      formulas: [{operator: below_size, reading: diameter}]
    taper:
      label: taper
      kinds: [journal]
      quantity: length
      formulas: [{operator: taper, reading: diameter}]
    play:
      label: oil clearance
      kinds: [shell]
      quantity: length
      sides: [at_most, at_least]
      formulas:
        - operator: clearance
          outer: {reading: bore}
          inner: {reading: diameter, on: {runs_on: journal}}
  operations:
    grind:
      label: grind to undersize
      kinds: [journal]
      done_by: machine shop
      repair_size: true
      voids: [diameter]
      renews: {carries: shell}
      because: brings it round and true again
  tasks:
    polish: {label: polish by hand}
  concerns:
    dirt: {label: dirt in the oil, cause: true}
    ran_hot: {label: it ran hot}
rules:
  format: 1
  limits:
    - part: shell
      dimension: play
      purpose: discard
      at_most: {plus: 0.2 mm}
      because: usual for such shells
      cite: [{source: made_up}]
  rules:
    - id: shell-light
      for: shell
      when: {finding: scoring, is: light}
      then: {task: polish}
    - id: shell-deep
      for: shell
      when: {finding: scoring, at_least: deep}
      then: {bar: {answers: reuse}, concern: dirt}
    - id: shell-play
      for: shell
      when: {dimension: play, against: discard, standing: above}
      then: {bar: {answers: reuse}}
    - id: journal-worn
      for: journal
      when: {dimension: wear, against: discard, standing: above}
      then: {bar: {answers: reuse, mend: grind}}
    - id: journal-tapered
      for: journal
      when: {dimension: taper, against: discard, standing: above}
      then: {bar: {answers: reuse, mend: grind}}
    - id: journal-straw
      for: journal
      when: {finding: heat, is: straw}
      then: {task: polish}
    - id: journal-blue
      for: journal
      when: {finding: heat, at_least: blue}
      then: {bar: {answers: [reuse, recondition]}, concern: ran_hot}
    - id: journal-under-dirt
      for: journal
      when: {concern: dirt, some: {carries: shell}}
      then: {require: {dimension: taper, before: reuse, because: dirt wears it unevenly}}
    - id: shaft-cracked
      for: shaft
      when: {finding: crack, at_least: line}
      then: {bar: {answers: reuse}}
    - id: nitrided-shaft-ran-hot
      for: shaft
      when:
        all:
          - {concern: ran_hot, some: {has: journal}}
          - {property: treatment, is: nitrided}
          - {layout: fuel, is: diesel}
      then: {require: {finding: crack, before: reuse, because: heat cracks the skin}}
"""

_SAID = {"because": "it is so", "cite": [{"source": "made_up"}], "examples": {"fires": [{}], "holds": [{}]}}
"""What a rule needs and the analysis does not look at."""


def sound() -> Data:
    """The files, to be edited. Rules come without reason, source and examples."""
    data: Data = yaml.load(_SOUND, Loader=yaml.BaseLoader)
    return data


def rule(data: Data, name: str) -> Data:
    """The rule of that id."""
    found: Data = next(each for each in data["rules"]["rules"] if each["id"] == name)
    return found


def add(data: Data, name: str, kind: str, when: object, then: object, **more: object) -> None:
    """Add a rule."""
    data["rules"]["rules"].append({"id": name, "for": kind, "when": when, "then": then, **more})


def words(data: Data, section: str) -> Data:
    """A section of the vocabulary."""
    found: Data = data["vocabulary"].setdefault(section, {})
    return found


def write(data: Data, folder: Path) -> Path:
    """Write the files into a folder, each rule with what it needs."""
    data = copy.deepcopy(data)
    data["rules"]["rules"] = [{**copy.deepcopy(_SAID), **each} for each in data["rules"]["rules"]]
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in data.items():
        (folder / f"{name}.yaml").write_text(typed(content), encoding="utf-8")
    return folder


def analysed(data: Data, folder: Path) -> tuple[RuleSet, Analysis]:
    """The rule set and its analysis; its examples are not looked at, its names are."""
    checked, rules, files = check_rule_set(write(data, folder))
    wrong = [str(each) for each in checked.faults if not each.code.startswith("example-")]
    assert not wrong, "\n".join(wrong)
    assert rules is not None
    assert files is not None
    return rules, analyse(rules, files)


def found(data: Data, folder: Path) -> list[RuleFinding]:
    """What the analysis finds."""
    return list(analysed(data, folder)[1].findings)
