"""A document becomes a model, or all that is wrong with it is told in words, once, and at its place."""

from __future__ import annotations

import enum
import json
from decimal import Decimal
from typing import Annotated, Any, Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from pydantic import (
    AfterValidator,
    BeforeValidator,
    Discriminator,
    Field,
    Tag,
    TypeAdapter,
    ValidationError,
    model_validator,
)

from advisor.faults import Faults, Position
from advisor.sheets.base import (
    AT,
    AnyQuantity,
    Count,
    DecimalText,
    FaultError,
    Length,
    Located,
    MoneyText,
    Name,
    RuleId,
    Sheet,
    Time,
    Words,
    quantity,
)
from advisor.sheets.text import Document, Limits, parse
from advisor.sheets.validate import validate
from advisor.units import Quantity, read_quantity


class Seen(Located):
    finding: Name
    at_least: Name | None = None


class Measured(Located):
    reading: Name
    above: Length


class Every(Located):
    all: tuple[Condition, ...]


Condition = Seen | Measured | Every
Every.model_rebuild()


class Grind(Located):
    kind: Literal["grind"]
    by: Length


class Clean(Located):
    kind: Literal["clean"]
    note: Words


Work = Annotated[Grind | Clean, Field(discriminator="kind")]


def shape(value: object) -> str | None:
    return "list" if isinstance(value, list) else "text" if isinstance(value, str) else None


class Cite(Located):
    source: Name
    where: str = Field(default="", alias="at", max_length=10)


class Colour(enum.Enum):
    bright = "bright"
    dull = "dull"


def not_nine(text: str) -> str:
    if text == "nine":
        raise ValueError("nine is never right")
    return text


class Pair(Located):
    low: Length
    high: Length

    @model_validator(mode="after")
    def _in_order(self) -> Pair:
        if self.low > self.high:
            raise FaultError(
                "limit-order",
                f"low {self.low.text} is above high {self.high.text}",
                "",
                "swap them",
                ("high",),
            )
        return self


class House(Sheet):
    for_: Name = Field(alias="for")
    when: Condition | None = None
    work: Work | None = None
    works: list[Work] = Field(default=[])
    cites: Annotated[list[Cite], BeforeValidator(lambda v: v if isinstance(v, list) else [v])] = Field(
        default=[]
    )
    found: dict[Name, str | list[str]] = Field(default={})
    size: Length | Literal["unknown", "lost"] = "lost"
    hours: Time | None = None
    any_size: AnyQuantity | None = None
    price: MoneyText | None = None
    share: DecimalText | None = None
    count: Count | None = None
    answer: Literal["reuse", "recondition", "replace"] = "replace"
    colour: Colour | None = None
    fitted: bool = False
    few: list[Name] = Field(default=["a"], min_length=1, max_length=2)
    two: tuple[Name, Count] | None = None
    version: str = Field(default="1.0", pattern=r"^\d+\.\d+$", description="two numbers with a point")
    code: str = Field(default="AB", pattern="^[A-Z]+$")
    odd: Annotated[str, AfterValidator(not_nine)] = ""
    pair: Pair | None = None
    scales: dict[Literal["fine", "coarse"], Words] = Field(default={})
    tagged: Annotated[
        Annotated[list[Name], Tag("list")] | Annotated[Name, Tag("text")], Discriminator(shape)
    ] = "a"
    rule: RuleId | None = None


def told(text: str, model: type[Sheet] = House) -> list[str]:
    with pytest.raises(Faults) as caught:
        validate(model, parse(text, "c.yaml"))
    return [str(fault) for fault in caught.value.faults]


FULL = """\
for: main_shell
when:
  all:
  - finding: embedded_debris
    at_least: five_percent
  - {reading: wall, above: 1.5 thou}
work: {kind: grind, by: 0.25 mm}
works:
- {kind: clean, note: no chips}
cites: {source: a_manual, at: p. 3-25}
found: {scoring: light, pitting: [a, b]}
size: 2.5 in
hours: 1200 h
any_size: 27 bar
price: 18.50 EUR
share: "0.950"
count: 4
answer: reuse
colour: dull
fitted: no
few: [x, y]
two: [x, 3]
pair: {low: 1 mm, high: 1 in}
scales: {fine: to the micron}
tagged: [b]
rule: worn-out
"""


def test_a_sound_document_becomes_a_model_that_knows_its_places() -> None:
    house = validate(House, parse(FULL, "c.yaml"))
    assert house.for_ == "main_shell"
    assert isinstance(house.when, Every)
    first, second = house.when.all
    assert first == Seen.model_validate({"finding": "embedded_debris", "at_least": "five_percent"})
    assert isinstance(second, Measured)
    assert (second.above.value, second.above.text) == (Decimal("0.0381"), "1.5 thou")
    assert first.at == Position("c.yaml", 4, 5)
    assert second.at == Position("c.yaml", 6, 5)
    assert house.when.at == Position("c.yaml", 3, 3)
    assert isinstance(house.work, Grind)
    assert house.work.at == Position("c.yaml", 7, 7)
    assert house.cites[0].at == Position("c.yaml", 10, 8)
    assert house.cites[0].where == "p. 3-25"
    assert (house.count, house.fitted, house.two, house.share) == (4, False, ("x", 3), Decimal("0.950"))


def test_a_model_written_out_is_the_text_that_was_typed() -> None:
    house = validate(House, parse(FULL, "c.yaml"))
    written = house.model_dump(mode="json", by_alias=True, exclude_unset=True)
    expected = dict(parse(FULL, "c.yaml").data)  # type: ignore[call-overload]
    expected |= {"fitted": False, "cites": [expected["cites"]]}
    assert written == expected
    again = House.model_validate_json(json.dumps(written))
    assert again == house  # though none of its parts has a place
    assert again.work is not None
    assert again.work.at is None


def test_the_place_is_no_part_of_the_value() -> None:
    one, two = (validate(Seen, parse(text, "c")) for text in ["finding: a", "\n\n  finding: a"])
    assert one.at != two.at
    assert one == two
    assert hash(one) == hash(two)
    assert len({one, two}) == 1
    assert one != validate(Seen, parse("finding: b", "c"))
    assert one != "finding: a"
    assert one != Clean(kind="clean", note="a")
    assert "Position" not in repr(one)
    assert one.model_dump() == {"finding": "a", "at_least": None}
    assert one.model_dump(by_alias=True) == {"finding": "a", "at_least": None}
    assert "at" not in Seen.model_json_schema()["properties"]
    assert set(Cite.model_json_schema()["properties"]) == {"source", "at"}


def test_a_model_is_frozen() -> None:
    seen = validate(Seen, parse("finding: a", "c"))
    with pytest.raises(ValidationError):
        seen.finding = "b"  # type: ignore[misc]


@pytest.mark.parametrize("key", ["at", "'at'", '"\\x61t"'])
def test_no_key_of_a_file_sets_the_place(key: str) -> None:
    assert told(f"finding: a\n{key}: c.yaml:9:9\n", Seen) == [
        'c.yaml:2:1: unknown key "at"; expected one of finding, at_least [unknown-key]'
    ]


def test_the_key_that_carries_the_place_cannot_be_typed() -> None:
    for key in [AT, '"\\0at"', '"\\x00at"', '"\\u0000at"']:
        with pytest.raises(Faults) as caught:
            parse(f"finding: a\n{key}: x\n", "c")
        assert {fault.code for fault in caught.value.faults} == {"control-character"}


NAME = "expected lower-case words of a to z and digits, joined by underscores"

MESSAGES: dict[str, str] = {
    # keys
    "fro: x": '1:1: unknown key "fro"; expected one of for, when, work, works, cites, found, size, '
    "hours, any_size, price, share, count, answer, colour, fitted, few, two, version, code, odd, pair, "
    'scales, tagged, rule; did you mean "for"? [unknown-key]',
    "size: 1 mm": '1:1: the key "for" is missing here; add "for: ..." [missing-key]',
    "for: x\npair:\n  low: 1 mm\n": '3:3: the key "high" is missing here; add "high: ..." [missing-key]',
    "for: x\npair: {low: 1 mm, high: 2 mm, hihg: 2 mm}\n": (
        '2:31: unknown key "hihg"; expected one of low, high; if it belongs to the value before it: inside '
        "{ } a comma ends a value: put the whole value in quotes, or on a line of its own [unknown-key]"
    ),
    "for: x\npair: {low: 1 mm, hihg: 2 mm}\n": (
        '2:19: unknown key "hihg"; expected one of low, high; did you mean "high"? [unknown-key]'
    ),
    # shapes
    "text": '1:1: the file is text ("text"); expected a mapping (keys with values) [wrong-shape]',
    "- a": "1:1: the file is a list; expected a mapping (keys with values) [wrong-shape]",
    "for: [x]": '1:6: "for" is a list; expected text [wrong-shape]',
    "for: x\nfew: y": ('2:6: "few" is text ("y"); expected a list; begin each item with "- " [wrong-shape]'),
    "for: x\nfew: {y: z}": '2:6: "few" is a mapping; expected a list [wrong-shape]',
    "for: x\nfew: [[y]]": '2:7: item 1 of "few" is a list; expected text [wrong-shape]',
    "for: x\nfound: y": '2:8: "found" is text ("y"); expected a mapping (keys with values) [wrong-shape]',
    "for: x\nfound: {y: {z: a}}": '2:12: "y" is a mapping; expected text or a list [wrong-shape]',
    "for: x\nfound: {y: [a, [b]]}": '2:16: item 2 of "y" is a list; expected text [wrong-shape]',
    "for: x\npair: y": '2:7: "pair" is text ("y"); expected a mapping (keys with values) [wrong-shape]',
    "for: x\nhours: [1 h]": (
        "2:8: a list stands here; expected a time with its unit, such as 1200 h [wrong-shape]"
    ),
    "for: x\nanswer: [reuse]": (
        '2:9: "answer" is a list; expected one of reuse, recondition, replace [wrong-shape]'
    ),
    "for: x\ncites: y": '2:8: "cites" is text ("y"); expected a mapping (keys with values) [wrong-shape]',
    "for: x\ncites: {sorce: y}": (
        '2:9: unknown key "sorce"; expected one of source, at; did you mean "source"? [unknown-key]'
    ),
    "for: x\ncites: {source: y, at: page nought point nine}": (
        '2:24: "at" is too long; expected at most 10 characters [wrong-length]'
    ),
    "for: x\nfew: []": '2:6: "few" has too few entries; expected at least 1 [wrong-length]',
    "for: x\nfew: [a, b, c]": '2:6: "few" has too many entries; expected at most 2 [wrong-length]',
    "for: x\ntwo: [a]": '2:6: "two" has too few entries [wrong-length]',
    "for: x\ntwo: [a, 1, 2]": '2:6: "two" has too many entries; expected at most 2 [wrong-length]',
    # words
    "for: x\nanswer: recondtion": '2:9: unknown word "recondtion"; expected one of reuse, recondition, '
    'replace; did you mean "recondition"? [unknown-word]',
    "for: x\nanswer: weld": (
        '2:9: unknown word "weld"; expected one of reuse, recondition, replace [unknown-word]'
    ),
    "for: x\ncolour: briht": (
        '2:9: unknown word "briht"; expected one of bright, dull; did you mean "bright"? [unknown-word]'
    ),
    "for: x\nscales: {fin: y}": (
        '2:10: unknown word "fin"; expected one of fine, coarse; did you mean "fine"? [unknown-word]'
    ),
    "for: Main Shell": f'1:6: "Main Shell" is not a name; {NAME}; write main_shell [bad-name]',
    "for: 3rd": f'1:6: "3rd" is not a name; {NAME} [bad-name]',
    "for: x\nfound:\n  Light: y": f'3:3: "Light" is not a name; {NAME}; write light [bad-name]',
    "for: " + "x" * 81: '1:6: "' + "x" * 57 + '..." is too long for a name; expected at most 80 characters '
    "[bad-name]",
    "for: x\nrule: worn_out": '2:7: "worn_out" is not a rule\'s id; expected lower-case words of a to z and '
    "digits, joined by hyphens; write worn-out [bad-rule-id]",
    "for: x\nwork: {kind: clean, note: ' '}": (
        "2:27: there are no words here; expected a few words [no-words]"
    ),
    # numbers and sizes
    "for: x\ncount: 010": (
        '2:8: "010" is not a count; expected a whole number from 1 up, in digits, such as 4 [bad-count]'
    ),
    "for: x\nshare: 0,95": '2:8: "0,95" is not a plain number; expected digits with a point, such as 0.95; '
    "write a point in place of the comma [bad-decimal]",
    "for: x\nfitted: perhaps": '2:9: "perhaps" is not an answer; expected yes or no [bad-value]',
    "for: x\nversion: v1": (
        '2:10: "v1" is not of the form wanted here; expected two numbers with a point [bad-value]'
    ),
    "for: x\ncode: ab": (
        '2:7: "ab" is not of the form wanted here; expected text that matches ^[A-Z]+$ [bad-value]'
    ),
    "for: x\nodd: nine": "2:6: nine is never right [bad-value]",
    "for: x\npair:\n  low: 2 mm\n  high: 1 mm": ("4:9: low 2 mm is above high 1 mm; swap them [limit-order]"),
    # branches
    "for: x\nwhen: {findng: a}": '2:8: unknown key "findng"; expected one of finding, at_least, reading, '
    'above, all; did you mean "finding"? [unknown-key]',
    "for: x\nwhen: {finding: a, at_lest: b}": (
        '2:20: unknown key "at_lest"; expected one of finding, at_least; did you mean "at_least"? '
        "[unknown-key]"
    ),
    "for: x\nwhen: {all: [{reading: a, abov: 1 mm}]}": (
        '2:27: unknown key "abov"; expected one of reading, above; did you mean "above"? [unknown-key]'
    ),
    "for: x\nwhen: {all: [{reading: a}]}": (
        '2:14: the key "above" is missing here; add "above: ..." [missing-key]'
    ),
    "for: x\nwhen: y": '2:7: "when" is text ("y"); expected a mapping (keys with values) [wrong-shape]',
    "for: x\nwhen: {all: [y]}": (
        '2:14: item 1 of "all" is text ("y"); expected a mapping (keys with values) [wrong-shape]'
    ),
    "for: x\nwork: {kind: gind, by: 1 mm}": (
        '2:14: unknown word "gind"; expected one of grind, clean; did you mean "grind"? [unknown-word]'
    ),
    "for: x\nwork: {kind: grind, note: a, by: 1 mm}": (
        '2:21: unknown key "note"; expected one of kind, by; if it belongs to the value before it: inside '
        "{ } a comma ends a value: put the whole value in quotes, or on a line of its own [unknown-key]"
    ),
    "for: x\nwork: {by: 1 mm}": '2:7: the key "kind" is missing here; add "kind: ..." [missing-key]',
    "for: x\nwork: {knd: grind}": (
        '2:8: unknown key "knd"; expected kind; did you mean "kind"? [unknown-key]'
    ),
    "for: x\nworks: [grind]": (
        '2:9: item 1 of "works" is text ("grind"); expected a mapping (keys with values) [wrong-shape]'
    ),
    "for: x\nsize: unknwn": '2:7: unknown word "unknwn"; expected one of unknown, lost, or a length with '
    'its unit; did you mean "unknown"? [unknown-word]',
    "for: x\nsize: [3 mm]": (
        '2:7: "size" is a list; expected a length with its unit or one of unknown, lost [wrong-shape]'
    ),
    "for: x\ntagged: [B]": f'2:10: "B" is not a name; {NAME}; write b [bad-name]',
    "for: x\ntagged: B": f'2:9: "B" is not a name; {NAME}; write b [bad-name]',
    "for: x\ntagged: {a: b}": '2:9: "tagged" is a mapping; expected a list or text [wrong-shape]',
}


@pytest.mark.parametrize(("text", "message"), MESSAGES.items(), ids=map(repr, MESSAGES))
def test_what_a_faulty_document_is_told(text: str, message: str) -> None:
    assert told(text) == [f"c.yaml:{message}"]


@pytest.mark.parametrize(
    ("line", "code"),
    [("size: 3", "no-unit"), ("hours: 3 mm", "wrong-dimension"), ("any_size: 3 parsnips", "unknown-unit"),
     ("price: 18.50", "no-currency"), ("size: 1,500 mm", "ambiguous-comma"),
     ("work: {kind: grind, by: x}", "no-number")],
)  # fmt: skip
def test_a_fault_of_a_size_keeps_its_words_and_gains_its_place(line: str, code: str) -> None:
    with pytest.raises(Faults) as caught:
        validate(House, parse(f"for: x\n{line}", "c.yaml"))
    (fault,) = caught.value.faults
    assert fault.code == code
    assert fault.at == Position("c.yaml", 2, line.rindex(":") + 3)


def test_where_a_size_or_a_word_may_stand_both_are_offered() -> None:
    (message,) = told("for: x\nsize: 3")
    assert message.startswith("c.yaml:2:7: ")
    assert ", or one of unknown, lost; " in message


def test_everything_is_told_at_once_in_the_order_of_the_file() -> None:
    text = """\
for: x y
when:
  all:
  - {finding: a, at_lest: b}
  - {reading: b, above: 3}
  - hello
works:
- {kind: grind}
- {kind: polish}
answer: reus
nonsense: [1, 2]
"""
    assert [(message.split(" ")[0], message.rsplit("[")[-1]) for message in told(text)] == [
        ("c.yaml:1:6:", "bad-name]"),
        ("c.yaml:4:18:", "unknown-key]"),
        ("c.yaml:5:25:", "no-unit]"),
        ("c.yaml:6:5:", "wrong-shape]"),
        ("c.yaml:8:3:", "missing-key]"),
        ("c.yaml:9:10:", "unknown-word]"),
        ("c.yaml:10:9:", "unknown-word]"),
        ("c.yaml:11:1:", "unknown-key]"),
    ]


def test_a_great_many_faults_are_told_in_bounds() -> None:
    faults = told("for: x\n" + "".join(f"whn{i}: y\n" for i in range(20_000)))
    assert len(faults) == 501
    assert faults[0].endswith('did you mean "when"? [unknown-key]')
    assert faults[-1].endswith("[too-many-faults]")


# The types of fields


TEXTS: list[tuple[Any, list[str], list[str]]] = [
    (Count, ["1", "4", "123456789"], ["0", "-1", "+3", "1.0", "1_000", "3 ", "٣", "1234567890", "", "four"]),
    (
        DecimalText,
        ["0", "0.95", "-3.10", "+1"],
        [".5", "1.", "1e3", "NaN", "inf", "0,5", "1_0", "", "٣", "1 "],
    ),
    (
        Name,
        ["a", "main_shell", "m3", "a_1"],
        ["", "A", "a__b", "_a", "a_", "a-b", "a b", "é", "1a", "a" * 81],
    ),
    (RuleId, ["a", "worn-out-2"], ["", "A", "a--b", "-a", "a-", "a_b", "a b", "é", "1a", "a" * 81]),
    (Words, ["a", "Some words, and a stop."], ["", " ", "\n", "a" * 4001]),
    (Length, ["1 mm", "1.5 thou", "-0.25 mm"], ["1", "mm", "", "1 h"]),
    (Time, ["1200 h", "30 min"], ["1200", "1 mm"]),
    (MoneyText, ["18.50 EUR"], ["18.50", "EUR", "1 mm"]),
    (Annotated[Quantity, quantity("torque")], ["90 N·m"], ["90 N", "90"]),
    (Annotated[Quantity, quantity("hardness_hrc")], ["55 HRC"], ["55 HB"]),
]


@pytest.mark.parametrize(("kind", "good", "bad"), TEXTS, ids=[repr(each[1]) for each in TEXTS])
def test_what_a_type_reads_it_writes_and_what_it_refuses(kind: Any, good: list[str], bad: list[str]) -> None:
    adapter: TypeAdapter[Any] = TypeAdapter(kind)
    schema = Draft202012Validator(adapter.json_schema())
    for text in good:
        value = adapter.validate_python(text)
        assert adapter.dump_python(value) in (text, text.lstrip("+"))
        assert adapter.validate_python(value) == value
        assert adapter.validate_json(adapter.dump_json(value)) == value
        assert schema.is_valid(text)
    for wrong in [*bad, ["a"], {"a": "b"}, None, 3.5, True]:
        with pytest.raises(ValidationError):
            adapter.validate_python(wrong)
    assert not schema.is_valid(["a"])
    for mode in ("validation", "serialization"):
        told_schema = adapter.json_schema(mode=mode)
        assert told_schema["type"] == "string"
        assert told_schema["description"]
        assert all(adapter.validate_python(example) for example in told_schema.get("examples", []))


def test_a_size_worked_out_in_code_is_not_taken_for_a_typed_one() -> None:
    adapter: TypeAdapter[Any] = TypeAdapter(Length)
    typed = read_quantity("1 mm")
    assert adapter.validate_python(typed) is not None
    with pytest.raises(ValidationError):
        adapter.validate_python(typed + typed)
    with pytest.raises(ValidationError):
        adapter.validate_python(read_quantity("1 h"))


def test_words_lose_the_spaces_round_them() -> None:
    assert validate(Clean, parse("kind: clean\nnote: |\n  one\n  two\n", "c")).note == "one\ntwo"


def test_a_fault_error_is_a_fault_without_its_place() -> None:
    fault = FaultError("code", "what is wrong", "that", "do this").at(Position("f", 1, 2))
    assert str(fault) == "f:1:2: what is wrong; expected that; do this [code]"


# Anything at all


keys = st.sampled_from(
    [*House.model_fields, "for", "kind", "finding", "reading", "above", "all", "by", "low", "a", "at"]
)
leaves = st.sampled_from(
    ["a", "1 mm", "3", "grind", "clean", "Light", "reuse", "no", "27 bar", "1 EUR", "''"]
)
trees = st.recursive(
    leaves,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=4),
    max_leaves=15,
)


def flow(tree: Any) -> str:
    if isinstance(tree, dict):
        return "{" + ", ".join(f"{key}: {flow(value)}" for key, value in tree.items()) + "}"
    return "[" + ", ".join(map(flow, tree)) + "]" if isinstance(tree, list) else str(tree)


def built_or_refused(document: Document) -> House | Faults:
    try:
        return validate(House, document)
    except Faults as faults:
        return faults


@settings(max_examples=300)
@given(st.dictionaries(keys, trees, max_size=8))
def test_any_document_gives_a_model_or_faults_that_each_have_a_place(tree: dict[str, Any]) -> None:
    document = parse(flow({"for": "x", **tree}), "c.yaml")
    places = {(at.line, at.col) for at in document.positions.values()}
    places |= {(at.line, at.col) for at in map(document.key_position, document.positions)}
    outcome = built_or_refused(document)
    if isinstance(outcome, House):
        assert House.model_validate(outcome.model_dump(by_alias=True)) == outcome
        return
    assert outcome.faults
    assert len({str(fault) for fault in outcome.faults}) == len(outcome.faults)
    for fault in outcome.faults:
        assert fault.at is not None
        assert (fault.at.line, fault.at.col) in places
        assert "Input should" not in str(fault)
        assert str(fault).isprintable()


def deep(levels: int) -> str:
    return "for: x\nwhen: " + "{all: [" * levels + "{finding: A}" + "]}" * levels


def test_conditions_may_be_nested_to_the_limit_of_a_file() -> None:
    (message,) = told(deep(19))
    assert message.endswith("write a [bad-name]")
    limits = Limits(depth=400)
    with pytest.raises(Faults) as caught:
        validate(House, parse(deep(60), "c.yaml", limits))
    assert caught.value.faults[0].code == "bad-name"
