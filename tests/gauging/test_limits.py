"""Which limit governs, and sizes of rules of thumb against the two published tables.

* Clevite, Engine Bearing Failure and Analysis Guide, form CL77-3-402, p. 2: new and ground parts
* US Army TM 10-3930-647-14&P, list of wear limits for each inch: used parts
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from advisor.gauging.limits import ResolvedLimit, resolve
from advisor.sheets.engine import EnginePart
from advisor.sheets.rule_of_thumb import RuleOfThumb
from advisor.sheets.vocabulary import Purpose
from advisor.units import read_quantity


def thumb(purpose: str, **more: Any) -> RuleOfThumb:
    """A rule of thumb for the taper of a journal, or for what `dimension` names."""
    body = {"part": "journal", "dimension": "taper", "because": "x", "cite": [{"source": "made_up"}]}
    return RuleOfThumb.model_validate({**body, "purpose": purpose, **more})


def part(sizes: dict[str, str], *limits: dict[str, str]) -> EnginePart:
    return EnginePart.model_validate({"new": sizes, "limits": list(limits)})


def limit(engine: EnginePart, purpose: Purpose, *thumbs: RuleOfThumb, of: str = "taper") -> ResolvedLimit:
    found = resolve(engine, "journal", of, purpose, thumbs)
    assert found is not None
    return found


def size(text: str) -> Decimal:
    return read_quantity(text).value


TAPER = (
    thumb("new", at_most={"plus": "0.0002 in"}, band="length", up_to="1.000 in"),
    thumb("new", at_most={"plus": "0.0004 in"}, band="length", over="1.000 in", up_to="2.000 in"),
    thumb("new", at_most={"plus": "0.0005 in"}, band="length", over="2.000 in"),
)
"""Clevite p. 2: taper of a new or ground journal by its length."""


@pytest.mark.parametrize(
    ("length", "most"),
    [
        ("0.9 in", "0.0002 in"),
        ("1.000 in", "0.0002 in"),
        ("25.4 mm", "0.0002 in"),
        ("1.001 in", "0.0004 in"),
        ("1.5 in", "0.0004 in"),
        ("2.000 in", "0.0004 in"),
        ("50.8001 mm", "0.0005 in"),
        ("4 in", "0.0005 in"),
    ],
)
def test_taper_of_a_new_journal_by_its_length(length: str, most: str) -> None:
    """Clevite p. 2; at exactly 1 and 2 in the printed rows meet, and the closer limit is taken."""
    found = limit(part({"length": length}), "new", *TAPER)
    assert (found.at_least, found.at_most, found.rule_of_thumb) == (None, size(most), True)


def test_a_taper_of_0_0003_in_on_a_short_and_on_a_longer_journal() -> None:
    """Clevite p. 2: too much for a journal of 0.9 in, and inside the limit for one of 1.5 in."""
    short, longer = (limit(part({"length": each}), "new", *TAPER).at_most for each in ("0.9 in", "1.5 in"))
    assert short is not None
    assert longer is not None
    assert short < size("0.0003 in") < longer


@pytest.mark.parametrize(("diameter", "most"), [("2.500 in", "0.0010 in"), ("63.5 mm", "0.0254 mm")])
def test_wear_limit_of_roundness(diameter: str, most: str) -> None:
    """TM 10-3930-647-14&P: 0.0004 in for each inch of diameter; the product is computed here, and 0.0011 in
    on a journal of 2.500 in is beyond it."""
    rule = thumb("discard", at_most={"ratio": "0.0004", "size": "diameter"})
    found = limit(part({"diameter": diameter}), "discard", rule)
    assert found.at_most == size(most)
    assert size("0.0011 in") > size(most)


@pytest.mark.parametrize(
    ("rule", "most"),
    [
        ({"from": "new", "times": "2"}, "0.0008 in"),
        (
            {"from": "new", "ratio": "0.0005", "size": "diameter"},
            "0.0014 in",
        ),
        ({"from": "new", "plus": "0.005 in"}, "0.0054 in"),
        ({"from": "new", "times": "1.15"}, "0.00046 in"),
    ],
)
def test_wear_limits_that_follow_from_the_makers_new_one(rule: dict[str, str], most: str) -> None:
    """TM 10-3930-647-14&P: taper of a journal, clearance, end play, width of a seat. The maker's 0.0004 in
    and the diameter of 2.000 in are our own figures."""
    new = {"dimension": "taper", "purpose": "new", "at_most": "0.0004 in"}
    found = limit(part({"diameter": "2.000 in"}, new), "discard", thumb("discard", at_most=rule))
    assert found.at_most == size(most)


def test_a_lower_limit_less_a_share_of_the_size() -> None:
    """TM 10-3930-647-14&P: a cam journal may be 0.0005 in for each inch under its low limit."""
    low = {"dimension": "taper", "purpose": "new", "at_least": "1.998 in"}
    rule = thumb("discard", at_least={"from": "new", "ratio": "-0.0005", "size": "diameter"})
    assert limit(part({"diameter": "2.000 in"}, low), "discard", rule).at_least == size("1.997 in")


def test_the_makers_figure_governs() -> None:
    own = {"dimension": "taper", "purpose": "discard", "at_most": "0.020 mm", "read_at": "p. 3"}
    found = limit(part({"diameter": "60 mm"}, own), "discard", thumb("discard", at_most={"plus": "1 mm"}))
    assert (found.at_most, found.rule_of_thumb, found.read_at) == (Decimal("0.020"), False, "p. 3")


@pytest.mark.parametrize(
    "rule",
    [
        thumb("discard", at_most={"from": "new", "plus": "0.1 mm"}),
        thumb("discard", at_most={"ratio": "0.001", "size": "width"}),
        thumb("discard", at_most={"plus": "0.1 mm"}, band="width", over="1 mm"),
        thumb("discard", at_most={"plus": "0.1 mm"}, band="diameter", over="60 mm"),
        thumb("new", at_most={"plus": "0.1 mm"}),
        thumb("discard", at_most={"plus": "0.1 mm"}, dimension="wear"),
    ],
)
def test_no_limit_is_made_up_where_what_it_follows_from_is_not_given(rule: RuleOfThumb) -> None:
    assert resolve(part({"diameter": "60 mm"}), "journal", "taper", "discard", [rule]) is None
