"""The chains that lead out of and into timing drive, lubrication, cooling, covers, fuel and air.

Sources, by the key under which `rulesets/engine/sources.yaml` enters them:

* US Army TM 9-2815-237-34, par. 2-10, 2-11 (rule of thumb) - gears with a cracked or missing tooth
* FAA-H-8083-32, ch. 10 (official, reposted) - look before you clean
* US Navy NAVEDTRA 14264A, ch. 3 (official) - clearance and oil pressure
* D. Rushton (trade guide) - shells that ran short of oil

How one thing leads to the next is common practice, no source, where none stands beside the check.
"""

from __future__ import annotations

import pytest

from tests.outside.auxiliaries import Round, causes, one, tasks
from tests.outside.crank import asked, because, fired, of


def test_chain_from_a_failed_shell_to_what_its_metal_has_touched() -> None:
    """D. Rushton for the sign; that a cooler is renewed after bearing metal is common practice, no source."""
    bench = Round().found("big_end_shell", "1 lower", wiping="smeared")
    bench.found("piston_cooling_jet", jet_blocked="not looked at")
    bench.found("cylinder_block", gallery_sludge="not looked at")
    decision = bench.decide()
    assert (of(decision, "oil_cooler").verdict, because(of(decision, "oil_cooler"))) == (
        "replace",
        {"oil-cooler-after-metal"},
    )
    assert "check_pump" in tasks(of(decision, "oil_pump"))
    assert "clean_relief_valve" in tasks(of(decision, "relief_valve"))
    assert "clean_strainer" in tasks(of(decision, "oil_strainer"))
    assert "wash_out_tensioner" in tasks(of(decision, "chain_tensioner"))
    turbo = of(decision, "turbocharger")
    assert (turbo.verdict, because(turbo)) == ("recondition", {"turbocharger-after-metal"})
    assert ("piston_cooling_jet", "1", "jet_blocked") in asked(of(decision, "piston_cooling_jet", "1"))
    assert ("galleries-after-metal", "cylinder_block", "") in fired(decision)
    assert "metal_source" not in causes(decision)


@pytest.mark.parametrize(
    ("part", "finding", "little", "much"),
    [
        ("oil_filter", "filter_debris", "fine", "flakes"),
        ("sump", "sump_deposit", "sludge", "metal"),
        ("oil_cooler", "cooler_debris", "sludge", "metal"),
        ("cylinder_block", "gallery_sludge", "film", "chips"),
    ],
)
def test_chain_from_debris_found_to_where_it_came_from(
    part: str, finding: str, little: str, much: str
) -> None:
    """Common practice, no source."""
    decision = Round().found(part, **{finding: much}).decide()
    assert ("metal-has-gone-round", "oil_pump", "") in fired(decision)
    assert "metal_source" in causes(decision)
    assert of(decision, "oil_cooler").verdict == "replace"
    harmless = Round().found(part, **{finding: little}).decide()
    assert ("metal-has-gone-round", "oil_pump", "") not in fired(harmless)
    assert "metal_source" not in causes(harmless)


def test_a_filter_washed_unseen_is_not_a_clean_filter() -> None:
    """FAA-H-8083-32, ch. 10 (reposted): look before you clean. Nobody knows now whether metal went round."""
    decision = Round().found("oil_filter", filter_debris="lost").decide()
    assert of(decision, "oil_cooler").verdict == "undecided"
    sump = of(Round().found("sump", sump_deposit="lost").decide(), "sump")
    assert (sump.verdict, "look_where_washing_missed" in tasks(sump)) == ("reuse", True)


def test_chain_from_a_broken_tooth_to_its_mate_and_the_oil() -> None:
    """TM 9-2815-237-34, par. 2-10, 2-11: cracked or missing teeth reject. The rest: common practice."""
    decision = Round().found("timing_gear", "cam", gear_tooth_damage="broken").decide()
    assert "timing-gear-tooth-gone" in because(of(decision, "timing_gear", "cam"))
    assert because(of(decision, "timing_gear", "idler")) == {"timing-gear-beside-a-broken-one"}
    assert of(decision, "timing_gear", "crank").verdict == "reuse"
    assert causes(decision) >= {"gear_debris"}
    assert "metal_source" not in causes(decision)
    assert of(decision, "oil_cooler").verdict == "replace"


def test_chain_from_a_chipped_tooth_to_the_crack_test_of_its_mate() -> None:
    bench = Round().found("timing_gear", "cam", gear_tooth_damage="worn_or_chipped")
    bench.found("timing_gear", "idler", gear_crack_test="not looked at")
    assert asked(of(bench.decide(), "timing_gear", "idler")) == {("timing_gear", "idler", "gear_crack_test")}
    bench = Round().found("timing_gear", "cam", gear_tooth_damage="worn_or_chipped")
    cracked = of(bench.found("timing_gear", "idler", gear_crack_test="line").decide(), "timing_gear", "idler")
    assert (cracked.verdict, because(cracked)) == ("replace", {"timing-gear-cracked"})


def test_chain_from_a_spun_idler_bush_to_spindle_oil_feed_and_gear() -> None:
    bench = Round().found("idler_bush", idler_bush_moved="spun")
    bench.found("idler_shaft", idler_shaft_hardness="not looked at")
    bench.found("timing_gear", "idler", idler_gear_bore="not looked at")
    waiting = bench.decide()
    assert of(waiting, "idler_bush").verdict == "replace"
    spindle = of(waiting, "idler_shaft")
    assert ("idler_shaft", "", "idler_shaft_hardness") in asked(spindle)
    assert "clear_idler_feed" in tasks(spindle)
    assert ("timing_gear", "idler", "idler_gear_bore") in asked(of(waiting, "timing_gear", "idler"))
    assert of(waiting, "timing_gear", "cam").verdict == "reuse"
    assert "check_pump" in tasks(of(waiting, "oil_pump"))

    bench = Round().found("idler_bush", idler_bush_moved="spun")
    bench.found("idler_shaft", idler_shaft_hardness="soft")
    torn = bench.found("timing_gear", "idler", idler_gear_bore="torn").decide()
    assert because(of(torn, "idler_shaft")) == {"idler-spindle-soft"}
    assert because(of(torn, "timing_gear", "idler")) == {"timing-gear-bore-torn-by-its-bush"}
    assert because(of(torn, "idler_bush")) == {"idler-bush-moved", "idler-bush-spun"}


@pytest.mark.parametrize(
    ("part", "findings"),
    [
        ("timing_belt", {"belt_failure": "stripped"}),
        ("chain_tensioner", {"tensioner_travel": "at_its_end"}),
        ("timing_gear", {"timing_marks": "out"}),
    ],
)
def test_chain_from_timing_that_was_out_to_valves_and_pistons(part: str, findings: dict[str, str]) -> None:
    bench = Round().found(part, "crank" if part == "timing_gear" else "all", **findings)
    decision = bench.found("exhaust_valve", "2", valve_bent="not looked at").decide()
    assert "timing_out" in causes(decision)
    assert ("exhaust-valve-after-timing-was-out", "exhaust_valve", "2") in fired(decision)
    assert ("piston-after-timing-was-out", "piston", "1") in fired(decision)
    assert ("exhaust_valve", "2", "valve_bent") in asked(of(decision, "exhaust_valve", "2"))


def test_chain_from_water_in_the_oil_to_what_is_opened() -> None:
    bench = Round().found("sump", sump_deposit="water").found("oil_cooler", cooler_leak="not looked at")
    bench.found("cylinder_block", jacket_leak="not looked at")
    decision = bench.decide()
    assert "coolant_in_oil" in causes(decision)
    assert ("oil_cooler", "", "cooler_leak") in asked(of(decision, "oil_cooler"))
    assert ("cylinder_block", "", "jacket_leak") in asked(of(decision, "cylinder_block"))
    assert "watch_drain_hole" in tasks(of(decision, "water_pump"))


def test_chain_from_fuel_in_the_oil_to_what_is_opened() -> None:
    bench = Round().found("sump", oil_as_drained="smells_of_fuel")
    decision = bench.found("injection_pump", injection_pump_leak="not looked at").decide()
    assert "fuel_in_oil" in causes(decision)
    assert ("injection_pump", "", "injection_pump_leak") in asked(of(decision, "injection_pump"))
    assert "open_fuel_paths" in tasks(of(decision, "fuel_lift_pump"))
    assert ("sump", "run_away") in {("sump", key) for key in of(decision, "sump").cautions}


def test_chain_from_an_overheated_engine_to_thermostat_pump_and_hoses() -> None:
    hot = Round().found("cylinder_block", moment="running", overheating="boiled").decide()
    for part, rule in (
        ("thermostat", "thermostat-after-overheating"),
        ("coolant_hose", "hose-after-overheating"),
    ):
        assert (of(hot, part).verdict, of(hot, part).ground) == ("replace", "routine")
        assert because(of(hot, part)) == {rule}
    assert of(hot, "water_pump").verdict == "reuse"
    assert "watch_drain_hole" in tasks(of(hot, "water_pump"))
    dry = Round().found("cylinder_block", moment="running", overheating="ran_on").decide()
    assert because(of(dry, "water_pump")) == {"water-pump-after-running-dry"}


def test_chain_from_a_turbocharger_with_oil_in_its_housings() -> None:
    shut = of(Round().found("turbocharger", turbo_oil="wet", turbo_feed="coked").decide(), "turbocharger")
    assert shut.verdict == "reuse"
    assert "clear_turbo_feed" in tasks(shut)
    free = of(Round().found("turbocharger", turbo_oil="wet").decide(), "turbocharger")
    assert (free.verdict, because(free)) == ("recondition", {"turbo-oil-with-an-open-drain"})
    washed = of(Round().found("turbocharger", turbo_oil="lost").decide(), "turbocharger")
    assert (washed.verdict, washed.ground) == ("recondition", "safe side")


def test_chain_from_a_broken_compressor_wheel_to_what_swallowed_it() -> None:
    bench = Round().found("turbocharger", turbo_wheel_damage="broken")
    decision = bench.found("inlet_valve", "1", valve_bent="not looked at").decide()
    assert because(of(decision, "charge_air_cooler")) == {"charge-cooler-behind-a-broken-wheel"}
    assert ("inlet_valve", "1", "valve_bent") in asked(of(decision, "inlet_valve", "1"))
    assert ("piston-after-swallowed-pieces", "piston", "2") in fired(decision)
    assert "pieces_swallowed" in causes(decision)


def test_chain_from_a_dripping_injector_to_crown_and_bore_of_its_own_cylinder() -> None:
    decision = Round().found("injector", "2", nozzle_drip="drips").decide()
    steps = fired(decision)
    for rule, part in (
        ("piston-under-a-dripping-injector", "piston"),
        ("cylinder-bore-under-a-dripping-injector", "cylinder_bore"),
    ):
        assert {place for name, kind, place in steps if (name, kind) == (rule, part)} == {"2"}
    assert {"overfuelled_cylinder", "fuel_washed_bore"} <= causes(decision)


def test_chain_from_water_in_the_fuel_to_injectors_and_pump() -> None:
    decision = Round().found("fuel_filter", fuel_filter_contents="water").decide()
    assert because(of(decision, "injector", "1")) == {"injectors-after-water-in-fuel"}
    assert because(of(decision, "injection_pump")) == {"injection-pump-after-water-in-fuel"}


def test_chain_from_a_failed_damper_to_the_crack_test_of_the_shaft_and_back() -> None:
    bench = Round().found("torsional_damper", damper_bond="moved")
    decision = bench.found("crankshaft", crack_test="not looked at").decide()
    assert "torsional_load" in causes(decision)
    assert ("crankshaft-behind-a-failed-damper", "crankshaft", "") in fired(decision)
    back = Round().found("crankshaft", crack_test="indication").decide()
    assert because(of(back, "torsional_damper")) == {"damper-of-a-broken-crankshaft"}


def test_chain_from_low_pressure_to_pump_and_bearings() -> None:
    """NAVEDTRA 14264A, pp. 3-24, 3-25: too much clearance, low pressure."""
    low = Round().measured("oil_pump", one("oil_pressure", "2.2 bar", "0.05 bar")).decide()
    assert ("oil-pump-under-low-pressure", "oil_pump", "") in fired(low)
    assert "measure_bearings_first" in tasks(of(low, "oil_pump"))
    assert of(low, "oil_pump").verdict == "reuse"


def test_chain_from_a_shut_strainer_to_the_pump() -> None:
    decision = Round().found("oil_strainer", strainer_blocked="more").decide()
    assert "pickup_short" in causes(decision)
    assert ("oil-pump-behind-a-short-pickup", "oil_pump", "") in fired(decision)
    half = Round().found("oil_strainer", strainer_blocked="half").decide()
    assert "pickup_short" not in causes(half)


def test_chain_from_a_blown_gasket_and_loose_bolts_to_the_head() -> None:
    """FAA-H-8083-32, ch. 10 (reposted), for looking before it is wiped; the rest common practice."""
    blown = Round().found("head_gasket", fire_ring_print="blown").decide()
    assert "gasket_blown" in causes(blown)
    assert ("head-where-its-gasket-blew", "cylinder_head", "") in fired(blown)
    loose = Round().measured("head_bolt", one("head_bolt_breakaway", "45 N·m", "4 N·m")).decide()
    assert "clamp_lost" in causes(loose)
    assert ("head-over-loose-bolts", "cylinder_head", "") in fired(loose)
    assert of(loose, "head_bolt").verdict == "reuse"


@pytest.mark.parametrize(
    ("extent", "task"), [("hard", "find_heat_at_seal"), ("leaked", "look_at_seal_track")]
)
def test_chain_from_a_seal_to_the_track_that_it_ran_on(extent: str, task: str) -> None:
    decision = Round().found("crank_oil_seal", "rear", seal_hardness=extent).decide()
    assert task in tasks(of(decision, "seal_track", "rear"))
    assert not tasks(of(decision, "seal_track", "front")) & {"find_heat_at_seal", "look_at_seal_track"}


def test_chain_from_a_blistered_plug_to_its_piston() -> None:
    decision = Round().found("spark_plug", "1", plug_face="blistered").decide()
    assert "burnt_too_hot" in causes(decision)
    fired_on = {place for rule, _, place in fired(decision) if rule == "piston-under-a-blistered-plug"}
    assert fired_on == {"1"}


def test_a_flywheel_that_worked_on_its_seat_takes_its_bolts() -> None:
    decision = Round().found("flywheel", flywheel_seat="fretted").decide()
    assert of(decision, "flywheel").verdict == "reuse"
    bolts = of(decision, "flywheel_bolt")
    assert (bolts.verdict, bolts.ground) == ("replace", "routine")
