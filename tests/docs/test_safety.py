"""The safety page says what the rule set says: every caution, its words and its sources."""

from __future__ import annotations

import pytest

from advisor.files import load_rules
from tests.docs.safety import BEGIN, PAGE, page


def test_the_page_holds_the_cautions_of_the_rule_set() -> None:
    text = PAGE.read_text("utf-8")
    assert page(text, load_rules()) == text, "run: python -m tests.docs.safety"


def test_a_changed_caution_is_noticed() -> None:
    rules = load_rules()
    key, caution = next(iter(rules.cautions.items()))
    text = PAGE.read_text("utf-8")
    stale = text.replace(caution.says, "Nothing can happen.")
    assert stale != text, key
    assert page(stale, rules) == text


def test_every_caution_is_shown_with_something() -> None:
    assert "*Shown with:* nothing yet" not in PAGE.read_text("utf-8")


def test_a_page_without_its_marks_is_refused() -> None:
    with pytest.raises(ValueError, match="lacks the lines"):
        page(BEGIN, load_rules())
