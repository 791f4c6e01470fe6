"""Coverage of conditions, held against truth tables that are gone through in full."""

from __future__ import annotations

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from advisor.authoring.mcdc import (
    DecisionTree,
    Vector,
    decides,
    deciding_surroundings,
    masking,
    outcome,
    tree_of,
    unique_cause,
)
from advisor.sheets.conditions import All, Any, Condition, Found, HasConcern


def leaf(number: int) -> Found:
    return Found(f"finding_{number}", "light", None)


@st.composite
def conditions(draw: st.DrawFn, depth: int = 2) -> Condition:
    """A condition with a few leaves; `_numbered` makes each of them another one."""
    if depth == 0 or draw(st.booleans()):
        return leaf(0)
    parts = tuple(draw(st.lists(conditions(depth - 1), min_size=1, max_size=3)))
    if draw(st.booleans()):
        return All(parts)
    return Any(parts, draw(st.integers(1, len(parts))))


def numbered(condition: Condition, count: list[int]) -> Condition:
    match condition:
        case All(parts):
            return All(tuple(numbered(part, count) for part in parts))
        case Any(parts, number):
            return Any(tuple(numbered(part, count) for part in parts), number)
    count[0] += 1
    return leaf(count[0])


def holds(condition: Condition, truths: dict[str, bool]) -> bool:
    """What a condition says on known truths, written down a second time."""
    match condition:
        case All(parts):
            return all(holds(part, truths) for part in parts)
        case Any(parts, number):
            return sum(holds(part, truths) for part in parts) >= number
        case Found(name, _, _):
            return truths[name]
    raise TypeError


def completions(vector: Vector) -> list[tuple[bool, ...]]:
    return list(product(*[(False, True) if each is None else (each,) for each in vector]))


def table(condition: Condition, tree: DecisionTree) -> dict[tuple[bool, ...], bool]:
    names = [each.finding for each in tree.conditions if isinstance(each, Found)]
    return {
        values: holds(condition, dict(zip(names, values, strict=True)))
        for values in product((False, True), repeat=len(names))
    }


def surely(rows: dict[tuple[bool, ...], bool], vector: Vector) -> bool | None:
    """The outcome on every way that the unknown may turn out, or None where they differ."""
    outcomes = {rows[each] for each in completions(vector)}
    return outcomes.pop() if len(outcomes) == 1 else None


def flipped(vector: Vector, index: int, value: bool) -> Vector:
    return (*vector[:index], value, *vector[index + 1 :])


@st.composite
def seen(draw: st.DrawFn) -> tuple[Condition, DecisionTree, list[Vector]]:
    condition = numbered(draw(conditions().filter(lambda each: _leaves(each) <= 6)), [0])
    tree = tree_of(condition)
    truth = st.sampled_from([True, False, True, False, None])
    vectors = draw(st.lists(st.tuples(*[truth] * len(tree.conditions)), max_size=14, unique=True))
    return condition, tree, vectors


def _leaves(condition: Condition) -> int:
    return sum(map(_leaves, condition.parts)) if isinstance(condition, All | Any) else 1


@given(seen())
def test_an_outcome_is_what_all_completions_have_in_common(
    case: tuple[Condition, DecisionTree, list[Vector]],
) -> None:
    condition, tree, vectors = case
    rows = table(condition, tree)
    for vector in vectors:
        assert outcome(tree.root, vector) is surely(rows, vector)


@given(seen())
def test_pairs_are_those_of_the_truth_table(case: tuple[Condition, DecisionTree, list[Vector]]) -> None:
    condition, tree, vectors = case
    rows = table(condition, tree)
    for index in range(len(tree.conditions)):
        by_table = {
            (one, other)
            for one in vectors
            for other in vectors
            if None not in one and None not in other
            if one[index] is True and other == flipped(one, index, False)
            if surely(rows, one) is True and surely(rows, other) is False
        }
        found = unique_cause(tree, vectors, index)
        assert (found is None) == (not by_table)
        assert found is None or (found.true, found.false) in by_table
        deciding = [
            vector
            for vector in vectors
            if surely(rows, flipped(vector, index, True)) is True
            and surely(rows, flipped(vector, index, False)) is False
        ]
        both = {vector[index] for vector in deciding} >= {True, False}
        masked = masking(tree, vectors, index)
        assert (masked is not None) == both
        assert masked is None or {masked.true, masked.false} <= set(deciding)
        assert found is None or masked is not None


@given(seen())
def test_surroundings_are_all_those_in_which_it_decides(
    case: tuple[Condition, DecisionTree, list[Vector]],
) -> None:
    condition, tree, _ = case
    rows = table(condition, tree)
    for index in range(len(tree.conditions)):
        wanted = {
            row
            for row in rows
            if row[index] and rows[row] and not rows[flipped(row, index, False)]  # type: ignore[index]
        }
        found = list(deciding_surroundings(tree, index))
        assert set(found) == wanted
        assert len(found) == len(wanted)


@given(seen())
def test_a_condition_that_is_struck_out_is_noticed_by_its_pair(
    case: tuple[Condition, DecisionTree, list[Vector]],
) -> None:
    condition, tree, vectors = case
    for index, struck in enumerate(tree.conditions):
        pair = unique_cause(tree, vectors, index) or masking(tree, vectors, index)
        if pair is None:
            continue
        less = without(condition, struck)
        truths = [
            dict(zip(map(_name, tree.conditions), each, strict=True)) for each in (pair.true, pair.false)
        ]
        changed = []
        for told, was in zip(truths, (True, False), strict=True):
            known = _complete(told)
            changed.append(any(holds(less, each) is not was for each in known))
        assert any(changed)


def _name(asked: object) -> str:
    assert isinstance(asked, Found)
    return asked.finding


def _complete(told: dict[str, bool | None]) -> list[dict[str, bool]]:
    return [dict(zip(told, each, strict=True)) for each in completions(tuple(told.values()))]


def without(condition: Condition, struck: object) -> Condition:
    """A condition with one leaf struck out: what asked for it with others asks for the others alone."""
    match condition:
        case All(parts):
            return All(tuple(without(part, struck) for part in parts if part != struck))
        case Any(parts, number):
            left = tuple(without(part, struck) for part in parts if part != struck)
            # With fewer parts than are wanted nothing can hold any more.
            return Any(left, number) if left else Any((), 1)
    return All(()) if condition == struck else condition


def test_a_textbook_decision() -> None:
    """(A or B) and (C or D), worked by hand from the definition in ECSS-Q-ST-80C Rev.1."""
    tree = tree_of(All((Any((leaf(1), leaf(2))), Any((leaf(3), leaf(4))))))

    def row(text: str) -> Vector:
        return tuple(each == "T" for each in text)

    pair = unique_cause(tree, [row("TFTF"), row("FFTF")], 0)
    assert pair is not None
    assert (pair.true, pair.false) == (row("TFTF"), row("FFTF"))
    # Five cases, one more than there are conditions, show all four.
    five = [row(each) for each in ("TFTF", "FFTF", "FTTF", "FTFF", "FTFT")]
    assert all(unique_cause(tree, five, index) is not None for index in range(4))
    assert any(unique_cause(tree, five[:-1], index) is None for index in range(4)), (
        "the last of the five is not needed"
    )
    # A and C both change here, which unique cause does not take and masking does.
    assert unique_cause(tree, [row("TFTF"), row("FFFT")], 0) is None
    assert masking(tree, [row("TFTF"), row("FFFT")], 0) is not None
    # Where B holds too, A is not seen to decide.
    assert not decides(tree, row("TTTF"), 0)


def test_what_is_unknown_shows_nothing() -> None:
    tree = tree_of(Any((leaf(1), leaf(2))))
    assert unique_cause(tree, [(True, None), (False, None)], 0) is None
    assert unique_cause(tree, [(None, False), (False, False)], 0) is None
    tree = tree_of(HasConcern("worn"))
    assert unique_cause(tree, [(True,), (None,)], 0) is None
    assert unique_cause(tree, [(True,), (False,)], 0) is not None
