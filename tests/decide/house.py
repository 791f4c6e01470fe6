"""House rules over the small rule set, for tests: a base with limits and alternatives, and a house over it.

The words and limits are invented; nothing here is a statement about engines.
"""

from __future__ import annotations

from pathlib import Path

from tests.decide import small

MORE_RULES = """
  - id: journal-tapered
    for: shaft_journal
    when: {dimension: taper, against: discard, standing: above}
    then: {bar: {answers: reuse, mend: grind}}
    because: tapered beyond its limit
    cite: [{source: made_up}]
    examples: {fires: [{taper: above discard}], holds: [{}, {taper: inside discard}]}
    alternatives:
      outright:
        then: {bar: {answers: [reuse, recondition]}}
        because: a tapered journal is never ground
        cite: [{source: made_up, at: p. 9}]
        examples: {fires: [{taper: above discard}], holds: [{}]}
      if_scored:
        when:
          all:
            - {dimension: taper, against: discard, standing: above}
            - {finding: scoring, at_least: deep}
        because: taper alone does no harm
        cite: [{source: made_up, at: p. 10}]
        examples: {fires: [{taper: above discard, scoring: deep}], holds: [{taper: above discard}]}
limits:
  - part: shaft_journal
    dimension: taper
    purpose: discard
    at_most: {from: new, times: "2"}
    cite: [{source: made_up}]
    because: twice the new
    alternatives:
      heavy_duty:
        at_most: {from: new, times: "1.2"}
        cite: [{source: made_up, at: p. 3}]
        because: heavy duty
  - {part: shaft_journal, dimension: taper, purpose: reassembly, at_most: {plus: 0.012 mm},
    cite: [{source: made_up}], because: as it goes together}
  - {part: shaft_journal, dimension: wear, purpose: new, band: diameter, up_to: 50 mm,
    at_most: {plus: 0.010 mm}, cite: [{source: made_up}], because: small ones}
  - {part: shaft_journal, dimension: wear, purpose: new, band: diameter, over: 50 mm,
    at_most: {plus: 0.020 mm}, cite: [{source: made_up}], because: large ones}
"""

HEAD = """\
format: 1
house: trial_house
version: 1.0.0
title: the house rules of a trial
base: {folder: ../base, version: 1.2.3}
"""

SIGNED = "by: A. Foreman, on: 2026-03-14, because: it was so decided"
"""Who decided a change, when and why, to be put into braces."""

OWN_RULES = """\
format: 1
rules:
  - id: house-straw-journal
    for: shaft_journal
    when: {finding: heat, is: straw}
    then: {task: polish}
    because: the colour hides scores
    cite: [{source: made_up}]
    examples: {fires: [{heat: straw}], holds: [{}]}
"""

OWN_WORDS = """\
format: 1
findings:
  rust:
    label: rust
    kinds: [shaft]
    look: in daylight
    extents: {none: bright, film: it wipes off, pits: a nail catches}
"""

AGAIN = ("again.yaml", OWN_RULES.replace("house-straw-journal", "shell-play"))
"""A file of rules that takes the id of a rule of the base."""

_TAPER = "- {dimension: taper, purpose: new, at_most: 0.010 mm, read_at: p. 4}"
ENGINE = small.ENGINE.replace(
    "    limits:\n      - {dimension: wear", f"    limits:\n      {_TAPER}\n      - {{dimension: wear", 1
)
"""The rig, whose maker gives a taper for new journals and none for discard."""


def write_base(folder: Path) -> Path:
    """Write the base: the small rule set with one rule more, and rules of thumb."""
    small.ruleset(folder, rules=small.RULES + MORE_RULES)
    return folder


def write_house(folder: Path, text: str = HEAD) -> Path:
    """Write house rules, with files beside them that they may add."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in (("house.yaml", text), ("own.yaml", OWN_RULES), ("words.yaml", OWN_WORDS), AGAIN):
        (folder / name).write_text(content, encoding="utf-8")
    return folder
