"""One entry of a case read: the places it means, and what was seen and measured there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Final

from advisor.sheets.bench import Interval, Read, Seen, SetWith
from advisor.sheets.case import NOT_THERE, BenchEntry, CaseSheet, ReadingEntry, Value
from advisor.sheets.checker import ERROR_OF, Checker, shown, some_of
from advisor.sheets.conditions import State
from advisor.sheets.ground import Ground, Place
from advisor.sheets.places import Document, Written
from advisor.sheets.places import Path as Steps
from advisor.sheets.size_check import check_positive
from advisor.sheets.vocabulary import MOMENTS, Moment, ReadingKind
from advisor.units import Quantity

EVERY_PLACE: Final = "all"
"""Written for every item of a kind whose place is known."""

_KNOWN_PLACES: Final = 4096
"""Place texts kept for one engine."""

_BEFORE_CLEANING: Final = MOMENTS[: MOMENTS.index("clean")]

_MENDABLE_FIRST: Final[tuple[State, ...]] = ("not looked at", "could not be judged", "lost")


class EntryReader(Checker):
    """Reads entries of a case against its engine, and collects what is wrong with them."""

    otherwise = "correct the word here"

    def __init__(self, ground: Ground, document: Document, case: CaseSheet | None = None) -> None:
        """`case` is left out where only places are read."""
        super().__init__(ground.ruleset, document)
        self._ground = ground
        self._vocabulary = ground.ruleset.vocabulary
        self._shop_at = None if case is None else case.temperature
        self._tools: dict[str, ReadingEntry] = {}
        """By the mark on an instrument: the first reading that was taken with it."""
        for entry in () if case is None else case.bench:
            for reading in entry.readings.values():
                if reading.tool:
                    self._tools.setdefault(reading.tool, reading)

    def _known_part(self, path: Steps, part: str) -> bool:
        if not self.word(path, part, self._vocabulary.kinds, "kind of part"):
            return False
        if part not in self._ground.places:
            self.fault(
                path,
                "part-not-on-sheet",
                f"the engine sheet has no {part}",
                "a part of this engine",
                "add it to the engine sheet, or correct the part here",
            )
            return False
        return True

    def _place_list(self, path: Steps, part: str, text: str) -> list[Place]:
        """The places that a text such as ``1 to 3 lower, 5`` means."""
        known = self._ground.known_places.get((part, text))
        if known is not None:
            return known
        every = self._ground.places[part]
        chosen: dict[Place, None] = {}
        if text.strip() in ("", EVERY_PLACE):
            chosen = dict.fromkeys(every)
        else:
            axes = [self._ground.values[axis] for axis in self._vocabulary.kinds[part].axes]
            for piece in text.split(","):
                wanted = _wanted(piece.split(), axes)
                if wanted is None:
                    self._unknown_place(path, part, piece)
                    continue
                for place in every:
                    if all(word in allowed for word, allowed in zip(place, wanted, strict=True)):
                        chosen[place] = None
        places = list(chosen)
        if places and len(self._ground.known_places) < _KNOWN_PLACES:
            self._ground.known_places[part, text] = places
        return places

    def _unknown_place(self, path: Steps, part: str, piece: str) -> None:
        places = [" ".join(place) for place in self._ground.places[part] if place]
        self.fault(
            path,
            "unknown-place",
            f"{shown(piece.strip()) or 'an empty word'} is no place of {part} on this engine",
            some_of(piece.strip(), places) or f"all: there is one {part}",
            "write a range as 1 to 4, several places with commas, fewer words for all items there",
        )

    def _could_be_seen(self, finding: str, moment: Moment) -> bool:
        return moment in _BEFORE_CLEANING or not self._vocabulary.findings[finding].destroyed_by_cleaning

    def _findings(self, path: Steps, entry: BenchEntry) -> Iterator[tuple[str, Seen]]:
        """The findings of an entry that are well said."""
        for name, word in entry.findings.items():
            at = (*path, "findings", name)
            if not self.finding(at, name, entry.part):
                continue
            extents = self._vocabulary.findings[name].extents
            state = NOT_THERE.get(word)
            if state is None and not self.word(at, word, [*extents, *NOT_THERE], f"extent of {name}"):
                continue
            if state is None and not self._could_be_seen(name, entry.moment):
                self.fault(
                    at,
                    "too-late-to-see",
                    f"{name} cannot be seen any more once the part is clean",
                    "an entry of moment: strip (or running)",
                    "if it was washed before anyone looked, write lost",
                )
                continue
            yield (
                name,
                Seen(None if state else word, state, entry.moment, Written(self.document.positions, at)),
            )

    def _readings(self, path: Steps, entry: BenchEntry) -> Iterator[tuple[str, Read]]:
        """The readings of an entry that are well said."""
        if entry.readings and not entry.place.strip() and len(self._ground.places[entry.part]) > 1:
            self._place_left_out((*path, "readings"), entry.part)
        for name, reading in entry.readings.items():
            at = (*path, "readings", name)
            if not self.own_word(at, name, self._vocabulary.readings, entry.part, "reading"):
                continue
            kind = self._vocabulary.readings[name]
            if not self.belongs(at, name, kind.kinds, entry.part, "reading"):
                continue
            if reading.with_ is not None:
                self._instrument((*at, "with"), reading.with_, kind, reading)
            error = reading.limit_of_error
            wanted = ERROR_OF.get(kind.quantity, kind.quantity)
            if error is not None:
                self.of_dimension((*at, "limit_of_error"), error, wanted)
            if error is not None and error.value <= 0:
                self.fault(
                    (*at, "limit_of_error"),
                    "error-not-positive",
                    f"a limit of error of {error.text} would be an instrument that never errs",
                    "the greatest error either way, above 0",
                    "take it from the certificate, or leave it out for the usual one",
                )
            if reading.tool:
                self._tool(at, reading)
            set_with = None
            if reading.set_with is not None:
                set_with = self._set_with((*at, "set_with"), kind, reading)
            taken = self._values(at, name, kind, reading)
            if name in self._vocabulary.kinds[entry.part].sizes:
                self._positive(at, reading)
            if taken is not None:
                values, state = taken
                written = Written(self.document.positions, at)
                yield (
                    name,
                    Read(
                        values,
                        None if len(values) == len(self._ground.positions[name]) else state,
                        entry.moment,
                        reading.with_,
                        error,
                        written,
                        self._intervals(at, kind, reading, values),
                        reading.tool,
                        set_with,
                        reading.temperature,
                        self._shop_at,
                        self._ground.metal(entry.part),
                    ),
                )

    def _place_left_out(self, path: Steps, part: str) -> None:
        """Note a measurement that nobody said a place of: it would count for every item of the kind."""
        places = [" ".join(place) for place in self._ground.places[part]]
        self.fault(
            path,
            "place-left-out",
            f"these readings do not say which {part} they are of, and there are {len(places)}",
            f"place: with {some_of('', places)}",
            "add place: and the one that was measured, or place: all where each of them measured the same",
        )

    def _positive(self, path: Steps, reading: ReadingEntry) -> None:
        """Note a size of a part that was read as nothing, or less."""
        if reading.value is not None:
            for each in reading.value.taken:
                check_positive(self, (*path, "value"), each, "the reading")
        for position, value in reading.values.items():
            for each in value.taken:
                check_positive(self, (*path, "values", position), each, "the reading")

    def _tool(self, path: Steps, reading: ReadingEntry) -> None:
        """Note a mark on an instrument of which nobody says what it is, or that two instruments have."""
        if reading.with_ is None:
            self.fault(
                (*path, "tool"),
                "reading-shape",
                f"{reading.tool} marks an instrument, and nothing says which",
                "with: the instrument, beside its mark",
            )
            return
        first = self._tools[reading.tool]
        if (first.with_, first.limit_of_error) != (reading.with_, reading.limit_of_error):
            self.fault(
                (*path, "tool"),
                "contradicts",
                f"{reading.tool} is another instrument, or has another limit of error, in an earlier reading",
                "one instrument and one certificate for each mark",
                "correct the mark, or write both readings alike",
            )

    def _set_with(self, path: Steps, kind: ReadingKind, reading: ReadingEntry) -> SetWith | None:
        """What a comparing instrument was set with."""
        name = reading.set_with
        assert name is not None
        marked = self._tools.get(name)
        if marked is not None and marked.with_ in self.whole.instruments:
            setter = SetWith(marked.with_ or "", marked.limit_of_error, name)
        elif self.word(path, name, [*self._tools, *self.whole.instruments], "instrument, or mark on one"):
            setter = SetWith(name)
        else:
            return None
        why = self._unfit(setter, kind, reading)
        if why is None:
            return setter
        fitting = [
            each
            for each, instrument in self.whole.instruments.items()
            if self._unfit(SetWith(each), kind, reading) is None and instrument.metal is not None
        ]
        self.fault(
            path,
            "setter-unfit",
            why,
            f"an instrument that spans the size, is not itself set with another and is not this one"
            f"{': ' + ', '.join(fitting) if fitting else ''}",
            "name what it was set with, by its mark or its name, or leave it out for the usual one",
        )
        return None

    def _unfit(self, setter: SetWith, kind: ReadingKind, reading: ReadingEntry) -> str | None:
        """Why an instrument cannot have set the one that took a reading; None where it can."""
        instrument = self.whole.instruments[setter.instrument]
        named = f"{setter.tool} ({setter.instrument})" if setter.tool else setter.instrument
        if reading.tool and setter.tool == reading.tool:
            return f"{setter.tool} would have been set with itself"
        if not setter.tool and setter.instrument == reading.with_:
            return f"{setter.instrument} would have been set with itself"
        if instrument.measures != kind.quantity:
            return f"{named} measures {instrument.measures.replace('_', ' ')} and can set no {kind.label}"
        if not instrument.sets:
            return f"{named} is itself set with another, or has no scale: nothing is set with it"
        for value in (reading.value, *reading.values.values()):
            for each in () if value is None else value.taken:
                if not instrument.spans(each):
                    return (
                        f"{named} cannot have set it to {each.text}: it is for sizes {instrument.range_text}"
                    )
        return None

    def _intervals(
        self,
        path: Steps,
        kind: ReadingKind,
        reading: ReadingEntry,
        taken: Mapping[str, tuple[Quantity, ...]],
    ) -> dict[str, Interval]:
        """By position: what blades told."""
        written = {"": reading.value} if reading.value is not None else reading.values
        found: dict[str, Interval] = {}
        for position, value in written.items():
            if not value.bracketed or position not in taken:
                continue
            usual = kind.instruments if reading.with_ is None else [reading.with_]
            known = [self.whole.instruments[name] for name in usual if name in self.whole.instruments]
            if known and not any(each.blade is not None for each in known):
                self.fault(
                    (*path, "value") if reading.value is not None else (*path, "values", position),
                    "no-blades",
                    f"{' and '.join(usual)} {'has' if len(usual) == 1 else 'have'} no blades",
                    "a size, or an instrument with blades under `with`",
                    "name the instrument that was used, or write the size that it showed",
                )
                break
            low = Decimal(0) if value.goes is None else value.goes.value
            step = Decimal(0) if value.stops is None else value.stops.value - low
            found[position] = Interval(step / 2, value.stops is None)
        return found

    def _values(
        self, path: Steps, name: str, kind: ReadingKind, reading: ReadingEntry
    ) -> tuple[dict[str, tuple[Quantity, ...]], State] | None:
        """The values of a reading by position, and the state it is in if there are none."""
        if (reading.value is None) == (not reading.values):
            self.fault(
                path,
                "reading-shape",
                f"reading {name} has " + ("no value" if reading.value is None else "a value and values too"),
                "value for a single one, or values by position",
            )
            return None
        positions = self._ground.positions[name]
        taken: dict[str, tuple[Quantity, ...]] = {}
        if reading.value is not None:
            if reading.value.state is not None:
                return taken, reading.value.state
            if positions != [""]:
                self.fault(
                    (*path, "value"),
                    "reading-position",
                    f"reading {name} is taken at several positions",
                    f"values, with {', '.join(positions)}",
                    "write values: with a line for each position",
                )
                return None
            self._take((*path, "value"), "", reading.value, kind.quantity, taken)
            return taken, "not looked at"
        states: set[State] = set()
        for position, value in reading.values.items():
            at = (*path, "values", position)
            if position not in positions:
                self.word(at, position, positions, f"position of {name}")
            elif value.state is not None:
                states.add(value.state)
            else:
                self._take(at, position, value, kind.quantity, taken)
        # What nobody has tried can still be had; the rest is out of reach only where all of it is.
        if not reading.values.keys() >= set(positions):
            states.add("not looked at")
        return taken, next(each for each in _MENDABLE_FIRST if each in states or each == "lost")

    def _instrument(self, path: Steps, name: str, kind: ReadingKind, reading: ReadingEntry) -> None:
        """Note an instrument that is not known, or that cannot have shown what was written down."""
        known = self.whole.instruments
        fitting = [each for each in known if known[each].measures == kind.quantity]
        if not self.word(path, name, known, "instrument", offer=fitting or None):
            return
        instrument = self.whole.instruments[name]
        if instrument.measures != kind.quantity:
            self.fault(
                path,
                "instrument-quantity",
                f"{name} measures {instrument.measures.replace('_', ' ')}",
                f"an instrument for {kind.quantity.replace('_', ' ')}",
                "name the instrument that was used, or leave it out",
            )
            return
        values = [reading.value, *reading.values.values()]
        sizes = [each for value in values if value is not None for each in value.taken]
        for each in sizes:
            if not instrument.spans(each):
                more = instrument.up_to is not None and each.value > instrument.up_to.value
                self.fault(
                    path,
                    "instrument-range",
                    f"{each.text} is {'more' if more else 'less'} than {name} can measure",
                    f"a size {instrument.range_text}",
                    "name the instrument that was used, or correct the size",
                )
                return

    def _take(
        self, path: Steps, position: str, value: Value, quantity: str, taken: dict[str, tuple[Quantity, ...]]
    ) -> None:
        for each in value.taken:
            if not self.of_dimension(path, each, quantity):
                return
        taken[position] = value.taken


def _wanted(words: Sequence[str], axes: Sequence[list[str]]) -> list[list[str]] | None:
    """For each axis the values that the words allow; None where a word is no value of any."""
    wanted: list[list[str]] = list(axes)
    position = index = 0
    while index < len(words):
        while position < len(axes) and words[index] not in axes[position]:
            position += 1
        if position == len(axes):
            return None
        values = axes[position]
        start = end = values.index(words[index])
        if index + 2 < len(words) and words[index + 1] == "to" and words[index + 2] in values:
            end = values.index(words[index + 2])
            index += 2
        if end < start:
            return None
        wanted[position] = values[start : end + 1]
        position += 1
        index += 1
    return wanted if words else None
