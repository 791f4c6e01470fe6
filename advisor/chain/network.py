"""What a matcher is given and what it gives back: plain data, and no rule engine.

A network says which conjunctions of facts about one item to watch for. A `Matcher` holds a network ready
to run; a `Session` is one case told to it. Absence, counting, related items and the facts that follow from
a match are the caller's work, done between one `tell` and the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

MAX_PATTERNS = 15
"""Most patterns one production may have; a longer conjunction must be split before it gets here."""


class CompileLimit(Exception):
    """A network is larger than the engine can hold safely."""


class RunLimit(Exception):
    """A case tells more facts, or causes more matches, than one session may hold."""


class EngineUnavailable(Exception):
    """The rule engine is missing or cannot be loaded on this Python."""


@dataclass(frozen=True, slots=True)
class Production:
    """Matches each item about which every one of its facts has been told.

    `patterns` are fact names, any text, at least one and all different (`ValueError` otherwise). `key` is
    the caller's name for the production, unique in its network.
    """

    key: str
    patterns: tuple[str, ...]

    def __post_init__(self) -> None:
        if not self.patterns:
            raise ValueError(f"production {self.key!r} has no patterns; it needs at least one")
        if len(set(self.patterns)) != len(self.patterns):
            raise ValueError(f"production {self.key!r} names the same fact twice")


@dataclass(frozen=True, slots=True)
class Network:
    """The productions to match, in the order that `Match.production` counts.

    Raises `ValueError` if two have one key.
    """

    productions: tuple[Production, ...]

    def __post_init__(self) -> None:
        keys: set[str] = set()
        for production in self.productions:
            if production.key in keys:
                raise ValueError(f"two productions have the key {production.key!r}")
            keys.add(production.key)


@dataclass(frozen=True, slots=True, order=True)
class Match:
    """All facts of a production hold about one item. `production` is an index into `Network.productions`."""

    production: int
    item: int


class Session(Protocol):
    """One case being told to a matcher."""

    def tell(self, facts: Sequence[tuple[str, int]]) -> list[Match]:
        """Add facts, each a (fact name, item), and return every match that they complete.

        Facts stay told; telling one again does nothing, nor does one that no production uses. Over the life
        of a session each match is returned exactly once. Within one call matches are sorted, so that the
        order in which facts were told does not show.
        """
        ...

    def close(self) -> None:
        """Forget the case. Closing twice is harmless."""
        ...


class Matcher(Protocol):
    """A network compiled once, for many sessions one after another."""

    def start(self) -> Session:
        """Begin a case."""
        ...

    def close(self) -> None:
        """Give up the compiled network and any session still open. Closing twice is harmless."""
        ...
