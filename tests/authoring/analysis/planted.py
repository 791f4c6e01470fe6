"""For every kind of finding: an example in which it is planted, and its twin in which it is mended."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from tests.authoring.analysis.sound import Data, Edit, add, rule, words

_CITE: Final = [{"source": "made_up"}]


@dataclass(frozen=True)
class Planted:
    """`plant` puts the finding about `subject` into the sound rule set; `mended` is the same put right."""

    code: str
    subject: str
    plant: Edit
    mended: Edit

    def __str__(self) -> str:
        return f"{self.code}: {self.subject}"


def _oil(kind: str, when: object, name: str = "extra", **then: Any) -> Edit:
    """One more rule, with a task that no other rule gives."""

    def edit(data: Data) -> None:
        words(data, "tasks")["oil_it"] = {"label": "oil it"}
        add(data, name, kind, when, {"task": "oil_it", **then})

    return edit


def _put(section: str, name: str, key: str, value: object) -> Edit:
    def edit(data: Data) -> None:
        words(data, section)[name][key] = value

    return edit


def _declare(section: str, name: str, entry: object) -> Edit:
    def edit(data: Data) -> None:
        words(data, section)[name] = entry

    return edit


def _both(*edits: Edit) -> Edit:
    def edit(data: Data) -> None:
        for each in edits:
            each(data)

    return edit


def _rule(name: str, key: str, value: object) -> Edit:
    def edit(data: Data) -> None:
        rule(data, name)[key] = value

    return edit


def _more(name: str, kind: str, when: object, then: object) -> Edit:
    def edit(data: Data) -> None:
        add(data, name, kind, when, then)

    return edit


def _drop(name: str) -> Edit:
    def edit(data: Data) -> None:
        data["rules"]["rules"].remove(rule(data, name))

    return edit


def _file(file: str, name: str, entry: object) -> Edit:
    def edit(data: Data) -> None:
        data[file][file][name] = entry

    return edit


def _accept(code: str, subject: str | list[str]) -> Edit:
    def edit(data: Data) -> None:
        entry = {"finding": code, "subject": subject, "because": "it is so"}
        data["ruleset"].setdefault("accept", []).append(entry)

    return edit


def _nothing(_: Data) -> None:
    """The sound rule set as it is."""


def finding(name: str, **more: str) -> dict[str, str]:
    return {"finding": name, **more}


def stands(name: str, purpose: str, standing: str) -> dict[str, str]:
    return {"dimension": name, "against": purpose, "standing": standing}


_LOOSE = stands("wear", "reassembly", "above")
_PLAY = stands("play", "reassembly", "above")
_LOST: Final = {"place": "unknown"}
_HOT_AND_COLD = [finding("heat", **{"is": "none"}), finding("heat", at_least="blue")]
_TORN = {"none": "smooth", "light": "the nail passes", "deep": "the nail catches", "torn": "metal is out"}
_TORN_TOO = _both(
    _put("findings", "scoring", "extents", _TORN), _oil("shell", finding("scoring", at_least="torn"))
)
_BARRED: Final[dict[str, Any]] = {"bar": {"answers": "reuse"}}

_UNREACHABLE = [
    Planted(
        "rule-never-fires",
        "extra",
        _oil("journal", {"all": _HOT_AND_COLD}),
        _oil("journal", {"all": [_HOT_AND_COLD[0], _LOOSE]}),
    ),
    Planted(
        "rule-never-fires",
        "extra",
        _oil("shaft", {"place": "unknown"}),
        _oil("journal", {"place": "unknown"}),
    ),
    Planted(
        "rule-never-fires",
        "extra",
        _oil("shell", {"evidence": "scoring", "is": "in doubt"}),
        _oil("shell", {"evidence": "play", "against": "discard", "is": "in doubt"}),
    ),
    Planted(
        "rule-never-fires",
        "extra",
        _oil(
            "journal", finding("scoring", at_least="deep") | {"some": {"carries": "shell", "at_least": "3"}}
        ),
        _oil(
            "journal", finding("scoring", at_least="deep") | {"some": {"carries": "shell", "at_least": "2"}}
        ),
    ),
    Planted(
        "rule-never-fires",
        "extra",
        _oil(
            "journal",
            {
                "all": [
                    finding("scoring", at_least="deep") | {"every": {"carries": "shell"}},
                    finding("scoring", **{"is": "none"}) | {"some": {"carries": "shell"}},
                ]
            },
        ),
        _oil(
            "journal",
            {
                "all": [
                    finding("scoring", at_least="light") | {"every": {"carries": "shell"}},
                    finding("scoring", at_least="deep") | {"some": {"carries": "shell"}},
                ]
            },
        ),
    ),
    Planted(
        "rule-never-fires",
        "extra",
        _oil("journal", {"all": [{"concern": "ran_hot"}, _HOT_AND_COLD[0]]}),
        _oil("journal", {"all": [{"concern": "ran_hot"}, _LOOSE]}),
    ),
    Planted(
        "rule-never-fires",
        "reader",
        _both(
            _declare("concerns", "frozen", {"label": "it froze"}),
            _more("froze", "journal", {"all": _HOT_AND_COLD}, {"concern": "frozen"}),
            _oil("shaft", {"concern": "frozen", "some": {"has": "journal"}}, "reader"),
        ),
        _both(
            _declare("concerns", "frozen", {"label": "it froze"}),
            _more("froze", "journal", {"all": [_HOT_AND_COLD[0], _LOOSE]}, {"concern": "frozen"}),
            _oil("shaft", {"concern": "frozen", "some": {"has": "journal"}}, "reader"),
        ),
    ),
    Planted(
        "rule-never-fires",
        "one",
        # Each waits for the other, and nothing starts the two.
        _both(
            _declare("concerns", "chicken", {"label": "chicken"}),
            _declare("concerns", "egg", {"label": "egg"}),
            _more("one", "journal", {"concern": "egg"}, {"concern": "chicken"}),
            _more("other", "journal", {"concern": "chicken"}, {"concern": "egg"}),
        ),
        _both(
            _declare("concerns", "chicken", {"label": "chicken"}),
            _declare("concerns", "egg", {"label": "egg"}),
            _more("one", "journal", {"concern": "egg"}, {"concern": "chicken"}),
            _more(
                "other", "journal", {"all": [_LOOSE, finding("heat", at_least="straw")]}, {"concern": "egg"}
            ),
            _oil("shaft", {"concern": "chicken", "some": {"has": "journal"}}),
        ),
    ),
    Planted(
        "condition-never-true",
        "extra: heat is none and heat at least blue",
        _oil("journal", {"any": [{"all": _HOT_AND_COLD}, _LOOSE]}),
        _oil("journal", {"any": [_HOT_AND_COLD[0], _LOOSE]}),
    ),
    Planted(
        "standing-never",
        "extra: taper below discard",
        _oil("journal", stands("taper", "discard", "below")),
        _oil("journal", stands("taper", "reassembly", "above")),
    ),
    Planted(
        "verdict-never-reached",
        "shaft: recondition",
        _put("kinds", "shaft", "answers", ["reuse", "recondition", "replace"]),
        _both(
            _put("kinds", "shaft", "answers", ["reuse", "recondition", "replace"]),
            _declare(
                "operations",
                "weld",
                {
                    "label": "weld",
                    "kinds": ["shaft"],
                    "done_by": "shop",
                    "voids": ["crack", "bend"],
                    "because": "x",
                },
            ),
            _declare(
                "findings",
                "bend",
                {"label": "bend", "kinds": ["shaft"], "look": "x", "extents": {"none": "x", "bent": "y"}},
            ),
            _more(
                "bent",
                "shaft",
                finding("bend", at_least="bent"),
                {"bar": {"answers": "reuse", "mend": "weld"}},
            ),
        ),
    ),
    Planted(
        "verdict-never-reached",
        "shaft: reuse",
        _both(
            _more("one", "shaft", {"layout": "fuel", "is": "diesel"}, _BARRED),
            _more("other", "shaft", {"layout": "fuel", "is": "petrol"}, _BARRED),
        ),
        _more("one", "shaft", {"layout": "fuel", "is": "diesel"}, _BARRED),
    ),
    Planted(
        "verdict-never-reached",
        "journal: replace",
        _both(
            _put("operations", "grind", "repair_size", "false"),
            _put("operations", "grind", "voids", ["diameter", "heat"]),
            _rule(
                "journal-blue", "then", {"bar": {"answers": "reuse", "mend": "grind"}, "concern": "ran_hot"}
            ),
        ),
        _put("operations", "grind", "repair_size", "false"),
    ),
]

_WEIGHTLESS = [
    Planted(
        "rule-duplicate",
        "again",
        _both(
            _oil("journal", {"all": [_HOT_AND_COLD[0], _LOOSE]}),
            _more("again", "journal", {"all": [_LOOSE, _HOT_AND_COLD[0]]}, {"task": "oil_it"}),
        ),
        _both(
            _oil("journal", {"all": [_HOT_AND_COLD[0], _LOOSE]}),
            _more("again", "journal", {"all": [_LOOSE, _HOT_AND_COLD[0]]}, {"task": "polish"}),
        ),
    ),
    Planted(
        "rule-without-effect",
        "extra",
        _more("extra", "shell", {"all": [finding("scoring", at_least="deep"), _LOST]}, _BARRED),
        _more("extra", "shell", {"all": [finding("scoring", **{"is": "light"}), _LOST]}, {"concern": "dirt"}),
    ),
    Planted(
        "rule-without-effect",
        "extra",
        # Two rules together are there wherever it is.
        _more(
            "extra",
            "shell",
            {"any": [finding("scoring", at_least="deep"), stands("play", "discard", "above")]},
            _BARRED,
        ),
        _more(
            "extra",
            "shell",
            {"any": [finding("scoring", at_least="deep"), stands("play", "discard", "above")]},
            {"task": "polish"},
        ),
    ),
    Planted(
        "rule-without-effect",
        "extra",
        # The kind asks for it in any case.
        _more(
            "extra", "journal", _LOOSE, {"require": {"dimension": "wear", "before": "reuse", "because": "x"}}
        ),
        _more(
            "extra", "journal", _LOOSE, {"require": {"dimension": "taper", "before": "reuse", "because": "x"}}
        ),
    ),
    Planted(
        "bar-without-effect",
        "extra",
        _oil("shell", {"all": [finding("scoring", at_least="deep"), _LOST]}, **_BARRED),
        _oil("shell", {"all": [finding("scoring", at_least="deep"), _LOST]}),
    ),
    Planted(
        "condition-without-effect",
        "journal-blue: heat at least straw",
        _rule(
            "journal-blue",
            "when",
            {"all": [finding("heat", at_least="blue"), finding("heat", at_least="straw")]},
        ),
        _nothing,
    ),
    Planted(
        "condition-without-effect",
        "extra: wear above reassembly",
        _oil(
            "journal",
            {"any": [_LOOSE, {"all": [_LOOSE, _HOT_AND_COLD[0]]}, finding("heat", **{"is": "none"})]},
        ),
        _oil("journal", {"any": [_LOOSE, _HOT_AND_COLD[0]]}),
    ),
    Planted(
        "condition-without-effect",
        "extra: layout fuel is diesel",
        # What one says of diesels, the other says of all the rest.
        _both(
            _oil("journal", {"all": [_LOOSE, {"layout": "fuel", "is": "diesel"}]}),
            _more(
                "petrol",
                "journal",
                {"all": [_LOOSE, {"layout": "fuel", "is": "petrol"}]},
                {"task": "oil_it"},
            ),
        ),
        _oil("journal", _LOOSE),
    ),
]

_MILDER = [
    Planted(
        "milder-when-worse",
        "shell: scoring deep to scoring torn",
        _both(_TORN_TOO, _rule("shell-deep", "when", finding("scoring", **{"is": "deep"}))),
        _TORN_TOO,
    ),
    Planted(
        "milder-when-worse",
        "shell: play inside discard to play above discard",
        _rule("shell-play", "when", stands("play", "discard", "inside")),
        _nothing,
    ),
    Planted(
        "milder-when-worse",
        "journal: heat straw to heat blue",
        _both(
            _rule("journal-blue", "then", {"concern": "ran_hot"}),
            _more(
                "extra",
                "journal",
                {"all": [finding("heat", at_least="straw"), {"absent": {"concern": "ran_hot"}}]},
                {"bar": {"answers": ["reuse", "recondition"]}},
            ),
        ),
        _both(
            _rule("journal-blue", "then", {"concern": "ran_hot"}),
            _more(
                "extra",
                "journal",
                finding("heat", at_least="straw"),
                {"bar": {"answers": ["reuse", "recondition"]}},
            ),
        ),
    ),
    Planted(
        "milder-when-worse",
        "journal: heat straw to heat blue",
        # Past saving, and then only to be ground.
        _both(
            _rule("journal-straw", "then", {"bar": {"answers": ["reuse", "recondition"]}, "task": "polish"}),
            _rule(
                "journal-blue", "then", {"bar": {"answers": "reuse", "mend": "grind"}, "concern": "ran_hot"}
            ),
            _put("operations", "grind", "voids", ["diameter", "heat"]),
        ),
        _put("operations", "grind", "voids", ["diameter", "heat"]),
    ),
]

_LEVER = {"label": "lever", "assembly": "controls", "answers": ["reuse", "replace"], "consequence": "grave"}

_GAPS = [
    Planted(
        "kind-without-rule",
        "lever",
        _declare("kinds", "lever", _LEVER),
        _both(
            _declare("kinds", "lever", _LEVER),
            lambda data: data["rules"]["rules"].append(
                {
                    "id": "lever-new",
                    "for": "lever",
                    "then": {"bar": {"answers": "reuse", "ground": "routine"}},
                }
            ),
        ),
    ),
    Planted(
        "finding-without-rule",
        "journal: crack",
        _put("findings", "crack", "kinds", ["shaft", "journal"]),
        _both(
            _put("findings", "crack", "kinds", ["shaft", "journal"]),
            _more(
                "extra",
                "journal",
                finding("crack", at_least="line"),
                {"bar": {"answers": ["reuse", "recondition"]}},
            ),
        ),
    ),
    Planted(
        "dimension-without-rule",
        "journal: taper",
        _drop("journal-tapered"),
        _nothing,
    ),
    Planted(
        "limit-without-rule",
        "shell: play discard at_least",
        lambda data: data["rules"]["limits"][0].update(at_least={"plus": "0.02 mm"}),
        lambda data: (
            data["rules"]["limits"][0].update(at_least={"plus": "0.02 mm"}),
            rule(data, "shell-play").update(when=stands("play", "discard", "outside")),
        ),
    ),
    Planted(
        "extents-alike",
        "scoring: deep, torn",
        _put("findings", "scoring", "extents", _TORN),
        _TORN_TOO,
    ),
    Planted(
        "unused-finding",
        "rust",
        _declare(
            "findings",
            "rust",
            {"label": "rust", "kinds": ["shaft"], "look": "x", "extents": {"none": "x", "pitted": "y"}},
        ),
        _both(
            _declare(
                "findings",
                "rust",
                {"label": "rust", "kinds": ["shaft"], "look": "x", "extents": {"none": "x", "pitted": "y"}},
            ),
            _more("extra", "shaft", finding("rust", at_least="pitted"), _BARRED),
        ),
    ),
    Planted(
        "unused-dimension",
        "oval",
        _declare(
            "dimensions",
            "oval",
            {
                "label": "oval",
                "kinds": ["journal"],
                "quantity": "length",
                "formulas": [{"operator": "out_of_round", "reading": "diameter"}],
            },
        ),
        _both(
            _declare(
                "dimensions",
                "oval",
                {
                    "label": "oval",
                    "kinds": ["journal"],
                    "quantity": "length",
                    "formulas": [{"operator": "out_of_round", "reading": "diameter"}],
                },
            ),
            _more(
                "extra",
                "journal",
                stands("oval", "discard", "above"),
                {"bar": {"answers": "reuse", "mend": "grind"}},
            ),
        ),
    ),
]


def _grip(formula: Any) -> Edit:
    dimension = {"label": "grip", "kinds": ["journal"], "quantity": "length", "formulas": formula}

    def edit(data: Data) -> None:
        words(data, "dimensions")["grip"] = dimension
        wanted = {"dimension": "grip", "before": "reuse", "because": "it has to sit"}
        add(data, "extra", "journal", _LOOSE, {"require": wanted})
        add(
            data,
            "more",
            "journal",
            stands("grip", "discard", "above"),
            {"bar": {"answers": "reuse", "mend": "grind"}},
        )

    return edit


_OUTER = {"reading": "diameter"}
_WORK = [
    Planted(
        "requirement-never-met",
        "extra: grip",
        _grip([]),
        _grip([{"operator": "out_of_round", "reading": "diameter"}]),
    ),
    Planted(
        "requirement-never-met",
        "extra: grip",
        # There are two shells to a journal, and the formula wants one.
        _grip(
            [
                {
                    "operator": "clearance",
                    "outer": {"reading": "bore", "on": {"carries": "shell"}},
                    "inner": _OUTER,
                }
            ]
        ),
        _grip([{"operator": "out_of_round", "reading": "diameter"}]),
    ),
    Planted(
        "requirement-idle",
        "shell: scoring",
        _put("kinds", "shell", "evidence", [{"finding": "scoring", "before": "recondition", "because": "x"}]),
        _put("kinds", "shell", "evidence", [{"finding": "scoring", "before": "reuse", "because": "x"}]),
    ),
    Planted(
        "operation-mends-nothing",
        "journal: peen",
        _declare(
            "operations",
            "peen",
            {"label": "peen", "kinds": ["journal"], "done_by": "shop", "voids": ["diameter"], "because": "x"},
        ),
        _both(
            _declare(
                "operations",
                "peen",
                {
                    "label": "peen",
                    "kinds": ["journal"],
                    "done_by": "shop",
                    "voids": ["diameter"],
                    "because": "x",
                },
            ),
            _rule("journal-worn", "then", {"bar": {"answers": "reuse", "mend": ["grind", "peen"]}}),
        ),
    ),
    Planted(
        "operation-voids-nothing",
        "grind",
        _put("operations", "grind", "voids", []),
        _nothing,
    ),
    Planted(
        "operation-keeps-its-reason",
        "grind: journal-straw",
        _rule("journal-straw", "then", {"bar": {"answers": "reuse", "mend": "grind"}}),
        _both(
            _rule("journal-straw", "then", {"bar": {"answers": "reuse", "mend": "grind"}}),
            _put("operations", "grind", "voids", ["diameter", "heat"]),
        ),
    ),
]

_DIRT = {"label": "dust"}
_LENGTH = {
    "label": "x",
    "kinds": ["journal"],
    "quantity": "length",
    "condition": "x",
    "how": "x",
    "instruments": ["micrometer"],
}
_LOOK_AT_SCORING = {"finding": "scoring", "before": "reuse", "because": "it may be scored"}


def _agreeing(reading: str) -> Edit:
    """The wear of a journal can be known by another reading too."""
    other = {"other": {"operator": "value", "reading": reading}, "because": "it is one thing"}
    return _put("dimensions", "wear", "agree", other)


_UNUSED = [
    Planted(
        "unused-reading",
        "length",
        _declare(
            "readings",
            "length",
            {"label": "x", "kinds": ["shaft"], "quantity": "length", "condition": "x", "how": "x"}
            | {"instruments": ["micrometer"]},
        ),
        _nothing,
    ),
    Planted(
        "unused-reading",
        "length",
        _declare("readings", "length", _LENGTH),
        # Held against what is worked out from another reading.
        _both(_declare("readings", "length", _LENGTH), _agreeing("length")),
    ),
    Planted(
        "unused-concern",
        "dust",
        _both(_declare("concerns", "dust", _DIRT), _more("extra", "shell", _PLAY, {"concern": "dust"})),
        # A suspicion, which says why evidence is wanted.
        _both(
            _declare("concerns", "dust", _DIRT),
            _more("extra", "shell", _PLAY, {"concern": "dust", "require": _LOOK_AT_SCORING}),
        ),
    ),
    Planted(
        "unused-concern",
        "dust",
        _declare("concerns", "dust", _DIRT),
        _both(
            _declare("concerns", "dust", {**_DIRT, "cause": "true"}),
            _more("extra", "shell", _PLAY, {"concern": "dust"}),
        ),
    ),
    Planted(
        "unused-concern",
        "dust",
        _both(_declare("concerns", "dust", _DIRT), _more("extra", "shell", _PLAY, {"concern": "dust"})),
        _both(
            _declare("concerns", "dust", _DIRT),
            _more("extra", "shell", _PLAY, {"concern": "dust"}),
            _oil("journal", {"concern": "dust", "some": {"carries": "shell"}}, "reader"),
        ),
    ),
    Planted(
        "unused-task",
        "oil_it",
        _declare("tasks", "oil_it", {"label": "oil it"}),
        _oil("shell", _PLAY),
    ),
    Planted(
        "unused-caution",
        "sharp",
        _file("cautions", "sharp", {"says": "It is sharp.", "governs": "nobody", "cite": _CITE}),
        _both(
            _file("cautions", "sharp", {"says": "It is sharp.", "governs": "nobody", "cite": _CITE}),
            _rule("shell-deep", "cautions", ["sharp"]),
        ),
    ),
    Planted(
        "unused-instrument",
        "rule",
        _file("instruments", "rule", {"label": "a rule", "limit": "0.5 mm", "cite": _CITE}),
        _both(
            _file("instruments", "rule", {"label": "a rule", "limit": "0.5 mm", "cite": _CITE}),
            _put("readings", "bore", "instruments", ["micrometer", "rule"]),
        ),
    ),
    Planted(
        "unused-source",
        "hearsay",
        _file("sources", "hearsay", {"tier": "memory", "title": "heard"}),
        _both(
            _file("sources", "hearsay", {"tier": "memory", "title": "heard"}),
            _rule("shell-deep", "cite", [{"source": "hearsay"}]),
        ),
    ),
    Planted(
        "unused-consequence",
        "mild",
        _declare("consequences", "mild", {"label": "weeps", "inside": "0.9", "outside": "0.1"}),
        _both(
            _declare("consequences", "mild", {"label": "weeps", "inside": "0.9", "outside": "0.1"}),
            _put("kinds", "shell", "consequence", "mild"),
        ),
    ),
    Planted(
        "unused-axis",
        "bank",
        _declare("axes", "bank", {"label": "bank"}),
        _both(_declare("axes", "bank", {"label": "bank"}), _put("kinds", "shaft", "axes", ["bank"])),
    ),
    Planted(
        "unused-relation",
        "turns",
        _declare("relations", "turns", {"label": "turns", "links": [{"of": "shaft", "to": "shell"}]}),
        _both(
            _declare("relations", "turns", {"label": "turns", "links": [{"of": "shaft", "to": "shell"}]}),
            _oil("shaft", _PLAY | {"some": {"turns": "shell"}}),
        ),
    ),
    Planted(
        "unused-layout",
        "cooling",
        _declare("layout", "cooling", {"label": "cooling", "values": ["air", "water"]}),
        _both(
            _declare("layout", "cooling", {"label": "cooling", "values": ["air", "water"]}),
            _oil("shaft", {"layout": "cooling", "is": "air"}),
        ),
    ),
    Planted(
        "unused-property",
        "shell: lining",
        _put("kinds", "shell", "properties", {"lining": ["tin", "lead"]}),
        _both(
            _put("kinds", "shell", "properties", {"lining": ["tin", "lead"]}),
            _oil("shell", {"property": "lining", "is": "lead"}),
        ),
    ),
    Planted(
        "unused-property",
        "shell: material",
        _put("kinds", "shell", "properties", {"material": ["tin", "lead"]}),
        # What it is made of says how far it expands.
        _both(
            _put("kinds", "shell", "properties", {"material": ["cast", "lead"]}),
            lambda data: data["vocabulary"].update(
                materials={"cast": {"label": "cast iron", "metal": "grey iron"}}
            ),
        ),
    ),
    Planted(
        "acceptance-idle",
        "unused-task: wax_it",
        _both(_declare("tasks", "oil_it", {"label": "oil it"}), _accept("unused-task", ["oil_it", "wax_it"])),
        _both(
            _declare("tasks", "oil_it", {"label": "oil it"}),
            _declare("tasks", "wax_it", {"label": "wax it"}),
            _accept("unused-task", ["oil_it", "wax_it"]),
        ),
    ),
    Planted(
        "acceptance-idle",
        "unused-task: oil_it",
        _accept("unused-task", "oil_it"),
        _both(_declare("tasks", "oil_it", {"label": "oil it"}), _accept("unused-task", "oil_it")),
    ),
    Planted(
        "acceptance-idle",
        "unused-task: oil_it",
        _both(
            _declare("tasks", "oil_it", {"label": "oil it"}),
            _accept("unused-task", "oil_it"),
            _accept("unused-task", "oil_it"),
        ),
        _both(_declare("tasks", "oil_it", {"label": "oil it"}), _accept("unused-task", "oil_it")),
    ),
]

PLANTED: Final = [*_UNREACHABLE, *_WEIGHTLESS, *_MILDER, *_GAPS, *_WORK, *_UNUSED]
