"""A small rule set of our own for tests of the logic: a shaft, its journals and the shells on them.

The words and limits are invented; nothing here is a statement about engines.
"""

from __future__ import annotations

from pathlib import Path

from advisor.sheets.case import CaseSheet
from advisor.sheets.crosscheck import load_ruleset
from advisor.sheets.engine import EngineSheet
from advisor.sheets.engine_check import check_engine
from advisor.sheets.places import Document
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.text import parse
from advisor.sheets.validate import validate

MANIFEST = """
format: 1
name: trial
version: 1.2.3
title: A trial
vocabulary: [vocabulary.yaml]
rules: [rules.yaml]
sources: sources.yaml
cautions: cautions.yaml
instruments: instruments.yaml
"""

SOURCES = """
format: 1
sources:
  made_up: {tier: memory, title: "invented for a test"}
"""

CAUTIONS = """
format: 1
cautions:
  heavy: {says: "The shaft is heavy.", governs: "local rules for lifting", cite: [{source: made_up}]}
  sparks: {says: "Grinding throws sparks.", governs: "the machine's manual", cite: [{source: made_up}]}
"""

INSTRUMENTS = """
format: 1
instruments:
  micrometer: {label: outside micrometer, limit: 0.005 mm, cite: [{source: made_up}]}
  exact_micrometer: {label: a better micrometer, limit: 0.0005 mm, cite: [{source: made_up}]}
"""

VOCABULARY = """
format: 1
layout:
  fuel: {label: fuel, values: [diesel, petrol]}
axes:
  journal: {label: journal}
  half: {label: half, values: [upper, lower]}
consequences:
  grave: {label: wrecks it, inside: "0.95", outside: "0.05", guard_discard: "true"}
  mild: {label: spoils the job, inside: "0.95", outside: "0.05"}
kinds:
  shaft:
    label: shaft
    assembly: rotating parts
    answers: [reuse, recondition, replace]
    consequence: grave
    properties: {treatment: [none, nitrided]}
    cautions: [heavy]
    evidence:
      - {finding: crack, before: [reuse, recondition], safe_side: replace, because: a cracked shaft breaks}
  shaft_journal:
    label: journal
    assembly: rotating parts
    axes: [journal]
    answers: [reuse, recondition, replace]
    consequence: grave
    sizes: [diameter]
  half_shell:
    label: half shell
    assembly: rotating parts
    axes: [journal, half]
    answers: [reuse, replace]
    consequence: mild
    own_place: "true"
    evidence:
      - {finding: scoring, before: reuse, safe_side: replace, because: in doubt a shell is renewed}
  gasket:
    label: gasket
    assembly: sealing
    answers: [reuse, replace]
    consequence: mild
  lever:
    label: lever
    assembly: controls
    answers: [reuse, replace]
    consequence: mild
relations:
  runs_on:
    label: runs on
    links: [{of: half_shell, to: shaft_journal, by: [journal]}]
  carries:
    label: carries
    links: [{of: shaft_journal, to: half_shell, by: [journal]}]
  part_of:
    label: is part of
    whole: "true"
    links: [{of: shaft_journal, to: shaft, integral: "true"}]
  has:
    label: has
    links: [{of: shaft, to: shaft_journal}]
sets:
  shells: {label: the shells, kinds: [half_shell], whole: "true", because: they are renewed as a set}
  journals: {label: the journals, kinds: [shaft_journal], because: one undersize for all}
findings:
  scoring:
    label: scoring
    kinds: [half_shell, shaft_journal]
    look: drag a fingernail across
    extents: {none: smooth, light: the nail passes, deep: the nail catches}
  particles:
    label: embedded particles
    kinds: [half_shell]
    look: with a lens
    extents: {none: clean, few: a few, many: many}
  heat:
    label: heat colour
    kinds: [shaft_journal]
    look: in daylight
    extents: {none: bright, straw: straw, blue: blue}
  crack:
    label: crack
    kinds: [shaft]
    look: by magnetic particles
    extents: {none: no line, line: a line}
  debris:
    label: debris in the pan
    kinds: [shaft]
    look: before washing
    moment: strip
    destroyed_by_cleaning: "true"
    extents: {none: clean, metal: bright flakes}
readings:
  diameter:
    label: diameter
    kinds: [shaft_journal]
    quantity: length
    sections: [front, rear]
    directions: [x, y]
    condition: clean and dry
    how: across the oil hole and at right angles
    instruments: [micrometer, exact_micrometer]
  bore:
    label: fitted bore
    kinds: [half_shell]
    quantity: length
    condition: shells in, cap torqued
    how: at right angles to the joint
    instruments: [micrometer]
dimensions:
  wear:
    label: wear
    kinds: [shaft_journal]
    quantity: length
    formulas: [{operator: below_size, reading: diameter}]
  taper:
    label: taper
    kinds: [shaft_journal]
    quantity: length
    formulas: [{operator: taper, reading: diameter}]
  play:
    label: oil clearance
    kinds: [half_shell]
    quantity: length
    formulas:
      - operator: clearance
        outer: {reading: bore}
        inner: {reading: diameter, on: {runs_on: shaft_journal}}
    sides: [at_most, at_least]
operations:
  grind:
    label: grind to undersize
    kinds: [shaft_journal]
    done_by: machine shop
    repair_size: "true"
    voids: [diameter]
    renews: {carries: half_shell}
    cautions: [sparks]
    steps: [keep the fillet radius]
    because: brings the journal round and true again
  straighten:
    label: straighten
    kinds: [shaft]
    done_by: machine shop
    because: brings it true
tasks:
  polish: {label: polish by hand}
concerns:
  dirty_oil: {label: dirt in the oil, cause: "true"}
  overheated: {label: it ran hot}
  suspect: {label: suspect}
  sound_shaft: {label: nothing against the shaft}
"""

RULES = """
format: 1
rules:
  - id: shell-particles
    for: half_shell
    when: {finding: particles, at_least: many}
    then:
      bar: {answers: reuse}
      concern: dirty_oil
    because: many particles cut the journal
    cite: [{source: made_up}]
    examples: {fires: [{particles: many}], holds: [{particles: few}]}
  - id: shell-scored
    for: half_shell
    when: {finding: scoring, at_least: deep}
    then: {bar: {answers: reuse}}
    because: a deep score is not put back
    cite: [{source: made_up}]
    examples: {fires: [{scoring: deep}], holds: [{scoring: light}]}
  - id: shell-mixed-up
    for: half_shell
    when: {place: unknown}
    then: {bar: {answers: reuse}}
    because: nobody knows where it ran
    cite: [{source: made_up}]
    examples: {fires: [{place: unknown}], holds: [{}]}
  - id: shell-play
    for: half_shell
    when: {dimension: play, against: discard, standing: above}
    then: {bar: {answers: reuse}}
    because: too much play
    cite: [{source: made_up}]
    examples: {fires: [{play: above discard}], holds: [{}]}
  - id: journal-under-dirt
    for: shaft_journal
    when: {some: {carries: half_shell}, concern: dirty_oil}
    then:
      require: {dimension: wear, before: [reuse, recondition], because: dirt has cut it}
      concern: suspect
    because: dirt has run on it
    cite: [{source: made_up}]
    examples: {fires: [{related: [{carries: half_shell, concerns: [dirty_oil]}]}], holds: [{}]}
  - id: journal-worn
    for: shaft_journal
    when: {dimension: wear, against: discard, standing: above}
    then: {bar: {answers: reuse, mend: grind}}
    because: worn beyond its limit
    cite: [{source: made_up}]
    examples: {fires: [{wear: above discard}], holds: [{}]}
  - id: journal-hot
    for: shaft_journal
    when: {finding: heat, at_least: blue}
    then: {concern: overheated}
    because: blue is past tempering
    cite: [{source: made_up}]
    examples: {fires: [{heat: blue}], holds: [{heat: straw}]}
  - id: shaft-hot
    for: shaft
    when: {some: {has: shaft_journal}, concern: overheated}
    then:
      require: {finding: crack, before: [reuse, recondition], because: heat cracks, safe_side: replace}
      concern: suspect
    because: heat may have cracked it
    cite: [{source: made_up}]
    examples: {fires: [{related: [{has: shaft_journal, concerns: [overheated]}]}], holds: [{}]}
  - id: shaft-cracked
    for: shaft
    when: {finding: crack, at_least: line}
    then: {bar: {answers: [reuse, recondition]}}
    because: a crack grows
    cite: [{source: made_up}]
    examples: {fires: [{crack: line}], holds: [{}]}
  - id: shaft-sound
    for: shaft
    when: {all: [{absent: {concern: suspect}}, {finding: crack, is: none}]}
    then: {concern: sound_shaft, task: polish}
    because: nothing speaks against it
    cite: [{source: made_up}]
    examples: {fires: [{}], holds: [{crack: line}]}
  - id: gasket-always
    for: gasket
    when: {layout: fuel, is: diesel}
    then: {bar: {answers: reuse, ground: routine}}
    because: never used twice
    cite: [{source: made_up}]
    examples: {fires: [{}], holds: [{layout: {fuel: petrol}}]}
"""

ENGINE = """
format: 1
ruleset: trial
engine: the rig
layout: {fuel: diesel}
axes: {journal: 3}
parts:
  shaft: {made: {treatment: nitrided}}
  shaft_journal:
    new: {diameter: 60.000 mm}
    limits:
      - {dimension: wear, purpose: discard, at_most: 0.050 mm, read_at: p. 4}
      - {dimension: wear, purpose: reassembly, at_most: 0.030 mm, read_at: p. 4}
    repair_sizes:
      - {operation: grind, size: diameter, steps: [-0.25 mm, -0.50 mm], stock: 0.05 mm}
  half_shell:
    limits:
      - {dimension: play, purpose: discard, at_most: 0.120 mm, read_at: p. 5}
  gasket: {}
  lever: {}
"""


def ruleset(
    folder: Path, *, rules: str = RULES, vocabulary: str = VOCABULARY, instruments: str = INSTRUMENTS
) -> RuleSet:
    """Write the small rule set into `folder` and load it."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in (
        ("ruleset.yaml", MANIFEST),
        ("sources.yaml", SOURCES),
        ("cautions.yaml", CAUTIONS),
        ("instruments.yaml", instruments),
        ("vocabulary.yaml", vocabulary),
        ("rules.yaml", rules),
    ):
        (folder / name).write_text(text, encoding="utf-8")
    return load_ruleset(folder)


def engine(rules: RuleSet, text: str = ENGINE) -> EngineSheet:
    """The engine sheet of the rig."""
    return check_engine(parse(text, "engine.yaml"), rules)


def case(text: str) -> tuple[CaseSheet, Document]:
    """A case from its bench entries, given as YAML under the usual head."""
    document = parse("format: 1\ncase: a trial case\nengine_sheet: engine.yaml\n" + text, "case.yaml")
    return validate(CaseSheet, document), document
