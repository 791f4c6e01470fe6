"""Which answers are open for one item: the logic of a verdict, with nothing of engines in it.

An answer is open, closed, or not known to be either. The verdict is the set of answers that are still
possible, and it stands when one is left.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from advisor.sheets.vocabulary import ANSWERS, Answer


@dataclass(frozen=True, slots=True)
class Barred:
    """Answers ruled out by one firing of a rule."""

    answers: frozenset[Answer]
    mend: tuple[str, ...]
    """Operations that take the reason away."""
    certain: bool


@dataclass(frozen=True, slots=True)
class Required:
    """Evidence that was asked for before some answers."""

    before: frozenset[Answer]
    met: bool
    beyond_reach: bool
    """It can never be had: lost, or impossible to judge."""
    safe_side: Answer | None
    certain: bool

    def holds_up(self, answer: Answer) -> bool:
        """Whether `answer` waits for this evidence: by name, or because the safe side would close it."""
        return answer in self.before or (
            self.safe_side is not None and ANSWERS.index(answer) < ANSWERS.index(self.safe_side)
        )


@dataclass(frozen=True, slots=True)
class Opened:
    """For each answer of the kind, mildest first: open (True), closed (False), or not known (None)."""

    open: Mapping[Answer, bool | None]

    @property
    def possible(self) -> tuple[Answer, ...]:
        """The answers that may still turn out to be the mildest open one."""
        possible: list[Answer] = []
        for answer, state in self.open.items():
            if state is not False:
                possible.append(answer)
            if state is True:
                break
        return tuple(possible)

    @property
    def verdict(self) -> Answer | None:
        """The answer, when one is left."""
        possible = self.possible
        return possible[0] if len(possible) == 1 else None


def open_answers(
    answers: Collection[Answer],
    bars: Sequence[Barred],
    required: Sequence[Required],
    feasible: Mapping[str, bool | None],
) -> Opened:
    """Work out which of a kind's `answers` are open.

    `feasible` says of each operation whether it can be done; None where gauging cannot tell.
    """
    states: dict[Answer, bool | None] = {}
    for answer in ANSWERS:
        if answer not in answers:
            continue
        state = True if answer == "replace" else _plain_state(answer, bars, required)
        if answer == "recondition" and "reuse" in answers and state is not False:
            state = _least(state, _mended(bars, required, feasible))
        states[answer] = state
    return Opened(states)


def unopened_answers(
    answers: Collection[Answer], bars: Sequence[Barred], feasible: Mapping[str, bool | None]
) -> Opened:
    """Which answers are open for a part that nobody opened: all that no certain bar rules out.

    Nothing stands for certain that is milder than replace, since nothing of the part itself is known.
    """
    certain = [bar for bar in bars if bar.certain]
    states: Mapping[Answer, bool | None] = {}
    if certain:
        states = open_answers(answers, certain, (), feasible).open
    return Opened(
        {
            answer: True if answer == "replace" else False if states.get(answer) is False else None
            for answer in ANSWERS
            if answer in answers
        }
    )


def remedies(bars: Sequence[Barred], feasible: Mapping[str, bool | None]) -> tuple[str, ...]:
    """The operations to do where recondition stands: those that mend every certain bar on reuse.

    One that mends all goes first; otherwise the first feasible one of each bar.
    """
    wanted = [bar for bar in bars if bar.certain and "reuse" in bar.answers]
    if not wanted:
        return ()
    for name in wanted[0].mend:
        if feasible.get(name, True) and all(name in bar.mend for bar in wanted):
            return (name,)
    chosen: dict[str, None] = {}
    for bar in wanted:
        usable = [name for name in bar.mend if feasible.get(name, True)]
        if usable and not any(name in chosen for name in usable):
            chosen[usable[0]] = None
    return tuple(chosen)


def _plain_state(answer: Answer, bars: Sequence[Barred], required: Sequence[Required]) -> bool | None:
    state: bool | None = True
    for bar in bars:
        if answer in bar.answers:
            state = _least(state, False if bar.certain else None)
    for each in required:
        if each.met or not each.holds_up(answer):
            continue
        closed = each.beyond_reach and each.safe_side is not None
        state = _least(state, False if closed and each.certain else None)
    return state


def _mended(
    bars: Sequence[Barred], required: Sequence[Required], feasible: Mapping[str, bool | None]
) -> bool | None:
    """Whether an operation takes away every bar on reuse; closed where there can be nothing to mend."""
    unmet = [each for each in required if not each.met]
    ends_here = [each for each in unmet if each.safe_side == "recondition"]
    to_mend = bool(ends_here)
    surely = any(each.certain and each.beyond_reach for each in ends_here)
    state: bool | None = True
    for bar in bars:
        if "reuse" not in bar.answers:
            continue
        best: bool | None = False
        for name in bar.mend:
            best = _most(best, feasible.get(name, True))
        if best is not False:
            to_mend, surely = True, surely or bar.certain
        if best is not True:
            # A bar that may not even be there leaves the question open.
            state = _least(state, best if bar.certain else None)
    if not to_mend:
        return False
    if not surely and any(each.safe_side is None and "reuse" in each.before for each in unmet):
        # Reuse may hang on this evidence for ever while there is nothing to mend.
        return _least(state, None)
    return state


def _least(one: bool | None, other: bool | None) -> bool | None:
    if one is False or other is False:
        return False
    return None if one is None or other is None else True


def _most(one: bool | None, other: bool | None) -> bool | None:
    if one is True or other is True:
        return True
    return None if one is None or other is None else False
