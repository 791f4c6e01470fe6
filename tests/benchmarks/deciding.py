"""How long a decision takes, against the rule engines alone on the very facts that it tells them."""

from __future__ import annotations

from pathlib import Path

from advisor.chain import ready
from advisor.chain.facts import world_of
from advisor.chain.plain import evaluate
from advisor.chain.run import run
from advisor.chain.world import World
from advisor.files import LoadedCase, load_case, load_rules
from advisor.gauging import gauge
from advisor.pipeline import decide
from advisor.scope.course import with_courses
from advisor.sheets.laying import lay_out
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.judge import Judge
from advisor.verdicts.trace import causes, steps
from advisor.verdicts.words import Teller
from tests.benchmarks.engines import RawClips, RawDurable, told
from tests.benchmarks.timing import medians, table

DEMO = Path(__file__).resolve().parents[2] / "cases_demo" / "marsh_pump" / "case.yaml"


def compare(rounds: int) -> str:
    """A decision of the demo case, warm, with its trace and with both engines run, beside each alone."""
    rules = load_rules()
    loaded = load_case(DEMO, rules)
    world = _world(loaded, rules)
    made = ready.ready_for(rules, world.layout)
    batches, matches = told(made.program, world, made.matcher)
    durable, clips = RawDurable(made.program.network), RawClips(made.program.network)
    for name, engine in (("durable-rules", durable), ("CLIPS", clips)):
        found = engine.run(batches)
        if found != matches:
            raise AssertionError(
                f"{name} finds {found} matches and the real run {matches}: not the same work"
            )
    times = medians(
        {
            "durable-rules alone": lambda: durable.run(batches),
            "CLIPS alone": lambda: clips.run(batches),
            "decide": lambda: _decide(loaded, rules),
        },
        rounds,
    )
    head = (
        f"A decision of the demo case, warm ({len(world.items)} items, {len(rules.rules)} rules, "
        f"{sum(map(len, batches))} facts told, {matches} matches)"
    )
    return f"{head}\n{table(times, 'durable-rules alone')}"


def stages(rounds: int) -> str:
    """What each stage of a decision takes of it."""
    rules = load_rules()
    loaded = load_case(DEMO, rules)
    case, sheet = loaded.case, loaded.sheet
    bench = lay_out(sheet, case, rules, loaded.document)
    gauged = gauge(bench, sheet, rules)
    world = world_of(bench, gauged, rules)
    made = ready.ready_for(rules, world.layout)
    firings = run(made.program, world, made.matcher)

    def judged() -> object:
        return Judge(bench, gauged, sheet, rules, firings, Teller(bench, gauged, sheet, rules)).verdicts()

    teller = Teller(bench, gauged, sheet, rules)
    verdicts = Judge(bench, gauged, sheet, rules, firings, teller).verdicts()
    times = medians(
        {
            "decide": lambda: _decide(loaded, rules),
            "lay_out": lambda: lay_out(sheet, case, rules, loaded.document),
            "gauge": lambda: gauge(bench, sheet, rules),
            "world_of": lambda: world_of(bench, gauged, rules),
            "run (durable-rules)": lambda: run(made.program, world, made.matcher),
            "evaluate (plain)": lambda: evaluate(made.prepared, world),
            "judge": judged,
            "courses": lambda: with_courses(verdicts, bench, rules),
            "causes": lambda: causes(bench, rules, firings),
            "steps": lambda: steps(bench, rules, firings, teller),
        },
        rounds,
    )
    return (
        f"Its stages, as shares of the whole (steps tell again what judge has told)\n{table(times, 'decide')}"
    )


def _decide(loaded: LoadedCase, rules: RuleSet) -> object:
    return decide(loaded.case, loaded.sheet, rules, document=loaded.document)


def _world(loaded: LoadedCase, rules: RuleSet) -> World:
    bench = lay_out(loaded.sheet, loaded.case, rules, loaded.document)
    return world_of(bench, gauge(bench, loaded.sheet, rules), rules)
