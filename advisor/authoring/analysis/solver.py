"""Whether conditions can come out as wanted, all together, on some bench.

A search over what may be known of one item and of the items it is linked to: goals are taken apart until
only values of single variables are left, branching where a goal leaves a choice. Linked items are made as
they are asked for, each free of all others, and a concern is replaced by the conditions of the rules that
conclude it.

Whatever is left out of sight is taken as possible: that an item's linked items are linked back to it, that
those of one kind share what the engine sheet says of the kind, and concerns more than `DEEPEST` links away
(unless no rule can ever conclude them). So an answer of "no" holds on every bench where it is known what
belongs to what; an answer of "yes" is a proposal, which whoever builds on it has to try.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple, TypeAlias

from advisor.authoring.analysis.domains import DENIED, HOLDS, OPPOSITE, Domains, Key, Want
from advisor.sheets.conditions import (
    Absent,
    All,
    Any,
    Condition,
    HasConcern,
    LayoutIs,
    Leaf,
    Related,
)

DEEPEST: Final = 3
"""Links that a search follows before it takes concerns as possible."""

ENGINE: Final = -1
"""The item that stands for the engine: its variables are the layout."""

Under: TypeAlias = frozenset[tuple[int, str]]
"""Concerns, each of an item, inside whose rules a goal stands."""

_NOTHING: Final[Under] = frozenset()


@dataclass(frozen=True, slots=True)
class _OneOf:
    """One of the related items is as wanted."""

    of: Related


@dataclass(frozen=True, slots=True)
class _NoneThere:
    """There is no related item of the kind."""

    of: Related


class Goal(NamedTuple):
    """What is wanted of a condition about an item (by its number)."""

    item: int
    condition: Condition | _OneOf | _NoneThere
    want: Want
    under: Under = _NOTHING


_Choice: TypeAlias = tuple[tuple[Goal, ...], ...]
"""Options of which one has to come true, each by all of its goals."""


class Made(NamedTuple):
    """An item of the search."""

    kind: str
    depth: int = 0
    number: int = 1
    """How many such items there are."""
    of: int | None = None
    """The item that it is linked to, and by which relation."""
    relation: str = ""
    same_as: int | None = None
    """This is that item again, but for its variable `but`."""
    but: Key = ()


class Linked(NamedTuple):
    """What is wanted of the items of a kind that an item is linked to."""

    least: tuple[tuple[int, Leaf, Want], ...] = ()
    """So many of them are as wanted."""
    most: tuple[tuple[int, Leaf, Want], ...] = ()
    """No more of them are so."""
    each: tuple[tuple[Leaf, Want], ...] = ()
    some: bool = False
    none: bool = False


class OutOfSteps(Exception):
    """The search took more steps than it was given."""


@dataclass(frozen=True, slots=True)
class Model:
    """A way for all goals to come true: the items, and the values that each variable may have in it."""

    items: tuple[Made, ...]
    values: Mapping[tuple[int, Key], int]


class _Open(NamedTuple):
    """A state of the search."""

    items: tuple[Made, ...]
    values: dict[tuple[int, Key], int]
    linked: dict[tuple[int, str, str], Linked]
    choices: tuple[_Choice, ...]


class Solver:
    """Answers questions about the rules of one rule set.

    `concluded` holds, by kind and concern, the conditions of the rules that conclude it; `conclusible` says
    whether a chain of rules that ends in evidence can.
    """

    def __init__(
        self,
        domains: Domains,
        concluded: Mapping[tuple[str, str], Sequence[Condition]],
        *,
        conclusible: Callable[[str, str], bool] = lambda kind, concern: True,
        steps: int,
        steps_in_all: int,
    ) -> None:
        self._domains = domains
        self._concluded = concluded
        self._conclusible = conclusible
        self._most_steps = steps
        self._steps = 0
        self._left = steps_in_all

    def solve(self, items: Sequence[Made], goals: Sequence[Goal]) -> Model | None:
        """A model of the goals about `items`, or None where there is none. Raises `OutOfSteps`."""
        self._steps = min(self._most_steps, self._left)
        before = self._steps
        try:
            return self._search(_Open(tuple(items), {}, {}, ()), list(goals))
        finally:
            self._left = max(0, self._left - (before - self._steps))

    @property
    def used_up(self) -> bool:
        """Whether all the steps that the whole analysis was given are taken."""
        return self._left == 0

    def _search(self, state: _Open, goals: list[Goal]) -> Model | None:
        """Goals first, then choices, then linked items; a state is never changed once it is handed on."""
        self._step()
        state = _Open(state.items, dict(state.values), dict(state.linked), state.choices)
        choices = list(state.choices)
        while True:
            while goals:
                self._step()
                more = self._take(state, goals.pop(), goals)
                if more is None:
                    return None
                choices += more
            narrowed = self._narrow(state, choices)
            if narrowed is None:
                return None
            choices, forced = narrowed
            if not forced:
                break
            goals += forced
        if choices:
            chosen = min(choices, key=len)
            rest = tuple(each for each in choices if each is not chosen)
            for option in chosen:
                found = self._search(state._replace(choices=rest), list(option))
                if found is not None:
                    return found
            return None
        if state.linked:
            return self._make_linked(state)
        return Model(state.items, state.values)

    def _step(self) -> None:
        self._steps -= 1
        if self._steps < 0:
            raise OutOfSteps

    # ---- one goal ----

    def _take(self, state: _Open, goal: Goal, goals: list[Goal]) -> list[_Choice] | None:
        """Take a goal apart: into `goals`, into the state, or into choices. None where it cannot be."""
        item, condition, want, under = goal
        match condition:
            case All(parts):
                return self._several(goal, parts, len(parts), goals)
            case Any(parts, number):
                return self._several(goal, parts, number, goals)
            case Absent(of):
                goals.append(Goal(item, of, OPPOSITE[want], under))
                return []
            case HasConcern(concern):
                return self._concern(state, goal, concern, goals)
            case Related():
                return self._related(state, item, condition, want)
            case _OneOf(of) | _NoneThere(of):
                return self._of_links(state, item, of, want, there=isinstance(condition, _OneOf))
        return [] if self._value(state, item, condition, want) else None

    def _several(
        self, goal: Goal, parts: Sequence[Condition], number: int, goals: list[Goal]
    ) -> list[_Choice] | None:
        """At least `number` of the parts, or fewer than that, as the want has it."""
        item, _, want, under = goal
        if want not in HOLDS:
            number = len(parts) - number + 1
        if number <= 0:
            return []
        if number > len(parts):
            return None
        if number == len(parts):
            goals.extend(Goal(item, part, want, under) for part in parts)
            return []
        if number == 1:
            return [tuple((Goal(item, part, want, under),) for part in parts)]
        # Either the first part is among them, or all of them are among the others.
        needed = number if want in HOLDS else len(parts) - 1 - number + 1
        first, rest = parts[0], tuple(parts[1:])
        fewer = number - 1 if want in HOLDS else len(rest) - (number - 1) + 1
        return [
            (
                (Goal(item, first, want, under), Goal(item, Any(rest, fewer), want, under)),
                (Goal(item, Any(rest, needed), want, under),),
            )
        ]

    def _concern(self, state: _Open, goal: Goal, concern: str, goals: list[Goal]) -> list[_Choice] | None:
        """A concern holds as its rules do; inside its own rules it holds no further (the least concerns)."""
        item, _, want, under = goal
        made = state.items[item]
        if (item, concern) in under:
            return None if want in HOLDS else []
        if made.depth > DEEPEST:
            return None if want in HOLDS and not self._conclusible(made.kind, concern) else []
        conditions = self._concluded.get((made.kind, concern), ())
        inside = under | {(item, concern)}
        return self._several(Goal(item, goal.condition, want, inside), conditions, 1, goals)

    def _value(self, state: _Open, item: int, leaf: Leaf, want: Want) -> bool:
        """Narrow the variable that a leaf asks of; False where nothing is left."""
        at, key, allowed = self._variable(state, item, leaf, want)
        left = state.values.get((at, key), -1) & allowed
        state.values[at, key] = left
        return left != 0

    def _variable(self, state: _Open, item: int, leaf: Leaf, want: Want) -> tuple[int, Key, int]:
        made = state.items[item]
        key, allowed = self._domains.allowed(made.kind, leaf, want)
        if isinstance(leaf, LayoutIs):
            return ENGINE, key, allowed
        if made.same_as is not None and key != made.but:
            item = made.same_as
        return item, key, allowed

    def _related(self, state: _Open, item: int, related: Related, want: Want) -> list[_Choice] | None:
        key, known = self._links(state, item, related)
        leaf, number = related.leaf, related.number
        if number is not None and want in HOLDS:
            known = known._replace(least=(*known.least, (number, leaf, want)))
        elif number is not None:
            against = DENIED[want]
            if number == 1:
                known = known._replace(each=(*known.each, (leaf, want)))
            else:
                known = known._replace(most=(*known.most, (number - 1, leaf, against)))
        elif want in HOLDS:
            known = known._replace(each=(*known.each, (leaf, want)), some=True)
        else:
            # Not every one: one of them is not so, or there is none at all.
            one = Related(related.relation, related.kind, 1, leaf)
            return [((Goal(item, _OneOf(one), want),), (Goal(item, _NoneThere(one), "certain"),))]
        return self._hold(state, key, known)

    def _of_links(
        self, state: _Open, item: int, related: Related, want: Want, *, there: bool
    ) -> list[_Choice] | None:
        key, known = self._links(state, item, related)
        if there:
            return self._hold(state, key, known._replace(least=(*known.least, (1, related.leaf, want))))
        return self._hold(state, key, known._replace(none=True))

    def _links(self, state: _Open, item: int, related: Related) -> tuple[tuple[int, str, str], Linked]:
        same = state.items[item].same_as
        key = item if same is None else same, related.relation, related.kind
        return key, state.linked.get(key, Linked())

    def _hold(self, state: _Open, key: tuple[int, str, str], known: Linked) -> list[_Choice] | None:
        if known.none and (known.some or known.least):
            return None
        most = self._domains.most_linked(state.items[key[0]].kind, key[1], key[2])
        if most is not None and any(number > most for number, _, _ in known.least):
            return None
        state.linked[key] = known
        return []

    # ---- choices ----

    def _narrow(self, state: _Open, choices: Sequence[_Choice]) -> tuple[list[_Choice], list[Goal]] | None:
        """Choices without the options that are out, and the goals of those that have only one left."""
        left: list[_Choice] = []
        forced: list[Goal] = []
        for choice in choices:
            options = []
            for option in choice:
                judged = [self._judged(state, goal) for goal in option]
                if all(each is True for each in judged):
                    break
                if not any(each is False for each in judged):
                    options.append(option)
            else:
                if not options:
                    return None
                if len(options) == 1:
                    forced.extend(options[0])
                else:
                    left.append(tuple(options))
        return left, forced

    def _judged(self, state: _Open, goal: Goal) -> bool | None:
        """Whether a goal about a value holds already, or cannot; None for anything else."""
        if isinstance(goal.condition, _COMPOUND):
            return None
        at, key, allowed = self._variable(state, goal.item, goal.condition, goal.want)
        kind = state.items[at].kind if at != ENGINE else state.items[goal.item].kind
        now = state.values.get((at, key), self._domains.every(kind, key))
        if not now & allowed:
            return False
        return True if now & ~allowed == 0 else None

    # ---- linked items ----

    def _make_linked(self, state: _Open) -> Model | None:
        """Make the linked items that are wanted of one item and one kind, and go on."""
        key = next(iter(state.linked))
        wanted = state.linked.pop(key)
        item, relation, kind = key
        made = state.items[item]
        items = list(state.items)
        goals: list[Goal] = []
        most = self._domains.most_linked(made.kind, relation, kind)
        for number, needs in self._wanted_items(wanted, most):
            new = len(items)
            items.append(Made(kind, made.depth + 1, number, item, relation))
            goals += [Goal(new, leaf, want) for leaf, want in (*needs, *wanted.each)]
        return self._search(state._replace(items=tuple(items), choices=()), goals)

    def _wanted_items(
        self, wanted: Linked, most: int | None
    ) -> Iterator[tuple[int, list[tuple[Leaf, Want]]]]:
        """How many linked items there are to be, and what is wanted of each beside what is of all."""
        least: dict[tuple[Leaf, Want], int] = {}
        for number, leaf, want in wanted.least:
            least[leaf, want] = max(number, least.get((leaf, want), 0))
        if most == 1 and least:
            yield 1, list(least)
            return
        if not least and wanted.some:
            yield 1, []
        if most is not None and len(least) == 2 and sum(least.values()) > most and not wanted.most:
            # There are not enough for both apart, so some have to be both.
            shared = sum(least.values()) - most
            yield shared, list(least)
            for want_of, number in least.items():
                if number > shared:
                    yield number - shared, [want_of]
            return
        for (leaf, want), number in least.items():
            # Where no more than a few may be so, the rest of these are not. Each bound is looked at by
            # itself: two of them need not fall on the same items.
            beyond = [(few, other, DENIED[against]) for few, other, against in wanted.most if few < number]
            for few, other, denied in beyond:
                yield number - few, [(leaf, want), (other, denied)]
            plain = min((few for few, _, _ in beyond), default=number)
            if plain:
                yield plain, [(leaf, want)]


_COMPOUND = (All, Any, Absent, HasConcern, Related, _OneOf, _NoneThere)
