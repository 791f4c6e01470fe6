"""The logic of a verdict against a count of every way in which the open questions may turn out."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.sheets.vocabulary import ANSWERS, Answer
from advisor.verdicts.answers import Barred, Opened, Required, open_answers, remedies

OPERATIONS = ("grind", "straighten", "sleeve")
FEASIBLE: tuple[bool | None, ...] = (True, False, None)

Case = tuple[frozenset[Answer], tuple[Barred, ...], tuple[Required, ...], dict[str, bool | None]]


def classical(
    answers: frozenset[Answer],
    bars: Sequence[Barred],
    required: Sequence[Required],
    feasible: Mapping[str, bool | None],
) -> set[Answer]:
    """The answer where nothing is open: the mildest that is not ruled out.

    Written from the sentence in the design, with no third truth value: every bar and requirement given is
    there, evidence is there or can never be had, and each operation can be done or cannot. An answer that
    waits for evidence that can never be had, with no safe side, hangs for ever: it and the next are left.
    """
    never = [each for each in required if not each.met]
    against = [bar for bar in bars if "reuse" in bar.answers]
    left: set[Answer] = set()
    for answer in ANSWERS:
        if answer not in answers:
            continue
        if answer != "replace":
            if any(answer in bar.answers for bar in bars):
                continue
            if any(each.safe_side is not None and _milder(answer, each.safe_side) for each in never):
                continue
        if answer == "recondition" and "reuse" in answers:
            ends_here = any(each.safe_side == "recondition" for each in never)
            mended = all(any(feasible[name] for name in bar.mend) for bar in against)
            if not mended or not (against or ends_here):
                continue
        left.add(answer)
        if answer == "replace" or not any(each.safe_side is None and answer in each.before for each in never):
            return left
    raise AssertionError("replace is open for every kind")


def _milder(one: Answer, other: Answer) -> bool:
    return ANSWERS.index(one) < ANSWERS.index(other)


def completions(case: Case) -> Iterator[set[Answer]]:
    """What is left for every way in which the open questions of a case may turn out."""
    answers, bars, required, feasible = case
    bar_ways = [[bar] if bar.certain else [bar, None] for bar in bars]
    required_ways: list[list[Required | None]] = []
    for each in required:
        ways: list[Required | None] = [each]
        if not each.met and not each.beyond_reach:
            ways = [replace(each, met=True), replace(each, beyond_reach=True)]
        required_ways.append(ways if each.certain else [*ways, None])
    names = list(feasible)
    feasible_ways = [[True, False] if feasible[name] is None else [feasible[name]] for name in names]
    for chosen_bars in itertools.product(*bar_ways):
        for chosen_required in itertools.product(*required_ways):
            for chosen in itertools.product(*feasible_ways):
                yield classical(
                    answers,
                    [bar for bar in chosen_bars if bar is not None],
                    [each for each in chosen_required if each is not None],
                    dict(zip(names, chosen, strict=True)),
                )


_kind_answers = st.sets(st.sampled_from(ANSWERS[:2])).map(lambda some: frozenset((*some, "replace")))


@st.composite
def _bars(draw: st.DrawFn) -> Barred:
    answers = draw(st.sampled_from((("reuse",), ("reuse", "recondition"), ("recondition",))))
    mend = () if "recondition" in answers else tuple(draw(st.lists(st.sampled_from(OPERATIONS), max_size=2)))
    return Barred(frozenset(answers), mend, draw(st.booleans()))  # type: ignore[arg-type]


@st.composite
def _requirements(draw: st.DrawFn) -> Required:
    before: tuple[Answer, ...] = draw(
        st.sampled_from((("reuse",), ("reuse", "recondition"), ("recondition",)))
    )
    # A safe side that is itself waiting for the evidence is refused when a rule set is loaded.
    safe = [None, *(answer for answer in ("recondition", "replace") if answer not in before)]
    met = draw(st.booleans())
    return Required(
        frozenset(before),
        met,
        not met and draw(st.booleans()),
        draw(st.sampled_from(safe)),
        draw(st.booleans()),
    )


@st.composite
def cases(draw: st.DrawFn) -> Case:
    return (
        draw(_kind_answers),
        tuple(draw(st.lists(_bars(), max_size=3))),
        tuple(draw(st.lists(_requirements(), max_size=2))),
        {name: draw(st.sampled_from(FEASIBLE)) for name in OPERATIONS},
    )


def _opened(case: Case) -> Opened:
    return open_answers(*case)


@settings(max_examples=1000)
@given(cases())
def test_possible_is_exactly_what_may_still_turn_out(case: Case) -> None:
    opened = _opened(case)
    turned_out = set().union(*completions(case))
    # Nothing that may come is left out, so nothing settles too early; and nothing is held out in vain.
    assert set(opened.possible) == turned_out
    assert (opened.verdict is not None) == (len(turned_out) == 1)


def less_known(case: Case) -> Iterator[Case]:
    """The case with one thing less known, in every way there is."""
    answers, bars, required, feasible = case
    for index, bar in enumerate(bars):
        if bar.certain:
            yield (
                answers,
                (*bars[:index], replace(bar, certain=False), *bars[index + 1 :]),
                required,
                feasible,
            )
    for mend in ((), ("grind",)):
        yield answers, (*bars, Barred(frozenset(("reuse",)), mend, False)), required, feasible
    yield answers, (*bars, Barred(frozenset(("reuse", "recondition")), (), False)), required, feasible
    for index, each in enumerate(required):
        before, after = required[:index], required[index + 1 :]
        if each.certain:
            yield answers, bars, (*before, replace(each, certain=False), *after), feasible
        if each.met or each.beyond_reach:
            unmet = replace(each, met=False, beyond_reach=False)
            yield answers, bars, (*before, unmet, *after), feasible
    for name, can in feasible.items():
        if can is not None:
            yield answers, bars, required, {**feasible, name: None}


@settings(max_examples=400)
@given(cases())
def test_knowing_less_only_leaves_more_open(case: Case) -> None:
    possible = set(_opened(case).possible)
    for other in less_known(case):
        assert possible <= set(_opened(other).possible), other


@settings(max_examples=400)
@given(cases(), st.randoms(use_true_random=False))
def test_order_and_repetition_do_not_show(case: Case, random: object) -> None:
    answers, bars, required, feasible = case
    doubled_bars, doubled_required = [*bars, *bars], [*required, *required]
    random.shuffle(doubled_bars)  # type: ignore[attr-defined]
    random.shuffle(doubled_required)  # type: ignore[attr-defined]
    again = open_answers(answers, doubled_bars, doubled_required, feasible)
    assert again.open == _opened(case).open


@settings(max_examples=400)
@given(cases())
def test_another_bar_or_requirement_never_makes_it_milder(case: Case) -> None:
    answers, bars, required, feasible = case
    mildest = ANSWERS.index(_opened(case).possible[0])
    for bar in (Barred(frozenset(("reuse",)), ("grind",), True), Barred(frozenset(ANSWERS[:2]), (), True)):
        more = open_answers(answers, (*bars, bar), required, feasible)
        assert ANSWERS.index(more.possible[0]) >= mildest
    unmet = Required(frozenset(("reuse",)), False, False, "replace", True)
    more = open_answers(answers, bars, (*required, unmet), feasible)
    assert ANSWERS.index(more.possible[0]) >= mildest


@settings(max_examples=700)
@given(cases())
def test_the_work_chosen_takes_every_bar_away(case: Case) -> None:
    answers, bars, _, feasible = case
    if _opened(case).verdict != "recondition" or "reuse" not in answers:
        return
    against = [bar for bar in bars if bar.certain and "reuse" in bar.answers]
    chosen = remedies(bars, feasible)
    assert all(feasible[name] is True for name in chosen)
    assert all(set(bar.mend) & set(chosen) for bar in against)
    single = [name for name in OPERATIONS if feasible[name] and all(name in bar.mend for bar in against)]
    if against and single:
        assert len(chosen) == 1, "one operation would do for all"
