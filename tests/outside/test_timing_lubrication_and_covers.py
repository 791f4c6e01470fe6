"""The rules for timing drive, flywheel, lubrication, cooling, covers, fuel and what is fitted once.

Sources, by the key under which `rulesets/engine/sources.yaml` enters them:

* US Army TM 9-2815-237-34, par. 2-10, 2-11 (rule of thumb) - seals, rings and locks, studs and bolts, gears
* US Army TM 9-2815-225-34&P, par. 3-7 (rule of thumb) - teeth of gears
* Galloway Engines (trade guide) - head bolts
* FAA AC 43.13-1B, par. 8-7 (official) and FAA-H-8083-32, ch. 10 (official, reposted) - nuts, flanges, burrs
* US Navy NAVEDTRA 14264A, ch. 3 (official) - oil pressure, the way a head gasket goes on
* D. Rushton (trade guide) - shells that ran short of oil

What rests on none of them is said to be common practice, no source, beside the check.
"""

from __future__ import annotations

import pytest

from advisor.verdicts.model import Verdict
from tests.outside.auxiliaries import (
    OWN,
    SPOTS,
    Round,
    many,
    one,
    tasks,
    work,
)
from tests.outside.crank import asked, because, fired, of

ALWAYS_NEW = {
    # TM 9-2815-237-34, par. 2-10, 2-11: seals always, rings and locks often.
    "gasket_set": "gaskets-always-new",
    "lip_seal": "lip-seals-always-new",
    "sealing_washer": "sealing-washers-always-new",
    "locking_hardware": "locking-hardware-always-new",
    # Common practice, no source: gaskets and paper seals are not used twice, nor filters, belts and plugs.
    "head_gasket": "head-gasket-always-new",
    "oil_filter": "oil-filter-always-new",
    "fuel_filter": "fuel-filter-always-new",
    "air_filter": "air-filter-always-new",
    "timing_belt": "timing-belt-always-new",
    "spark_plug": "spark-plugs-always-new",
}


def test_a_sound_engine_is_reused_save_for_what_is_always_renewed() -> None:
    for each in Round().decide().verdicts:
        if each.part in ALWAYS_NEW:
            assert (each.verdict, each.ground) == ("replace", "routine"), each.part
            assert because(each) == {ALWAYS_NEW[each.part]}
        elif each.part in OWN:
            assert (each.verdict, each.ground, asked(each)) == ("reuse", "sound", set()), each.part


@pytest.mark.parametrize("part", sorted(set(ALWAYS_NEW) - {"spark_plug"}))
def test_what_is_fitted_once_and_has_not_been_fitted_goes_in(part: str) -> None:
    decision = Round().line(f"{{part: {part}, origin: new, tag: from the shelf, otherwise: none}}").decide()
    (shelf,) = [each for each in decision.verdicts if each.part == part and each.tag == "from the shelf"]
    assert shelf.verdict == "reuse"
    used = Round().line(f"{{part: {part}, origin: second-hand, tag: used, otherwise: none}}").decide()
    (old,) = [each for each in used.verdicts if each.part == part and each.tag == "used"]
    assert (old.verdict, old.ground) == ("replace", "routine")


# ---- one finding at a time: the mildest that condemns, and the next below it ----

CONDEMNS = [
    # part, place, finding, extent that stays, extent that does not, verdict, rule
    # TM 9-2815-225-34&P, par. 3-7: no fixed limit; any damage that can be seen.
    ("timing_gear", "cam", "gear_tooth_damage", "none", "pitted", "replace", "timing-gear-teeth-damaged"),
    ("accessory_gear", "", "gear_tooth_damage", "none", "pitted", "replace", "accessory-gear-teeth-damaged"),
    ("balance_shaft", "", "gear_tooth_damage", "none", "pitted", "replace", "balance-shaft-gear-damaged"),
    # TM 9-2815-237-34, par. 2-10, 2-11: bent, loose, stretched, thread damaged.
    ("fastener_set", "", "fastener_damage", "rusted", "damaged", "replace", "fasteners-damaged"),
    ("flywheel_bolt", "", "fastener_damage", "rusted", "damaged", "replace", "flywheel-bolt-damaged"),
    ("head_bolt", "", "head_bolt_neck", "rusted", "pulled", "replace", "head-bolt-damaged"),
    # FAA-H-8083-32, ch. 10 (reposted): bent and warped flanges are mended, burrs come off with a stone.
    ("sump", "", "sump_damage", "none", "flange_bent", "recondition", "sump-flange-bent"),
    ("engine_cover", "side", "cover_damage", "none", "flange_bent", "recondition", "cover-flange-bent"),
    ("spacer_plate", "", "cover_damage", "none", "flange_bent", "recondition", "spacer-flange-bent"),
    ("manifold", "inlet", "manifold_crack", "none", "warped", "recondition", "manifold-warped"),
    ("engine_cover", "timing", "face_tool_marks", "light", "across_the_face", "recondition",
     "cover-face-scratched-across"),
    # Common practice, no source, from here on. Timing drive:
    ("timing_gear", "idler", "gear_seat", "fretted", "loose", "replace", "timing-gear-loose-on-its-shaft"),
    ("accessory_gear", "", "gear_seat", "fretted", "loose", "replace", "accessory-gear-loose-on-its-shaft"),
    ("idler_bush", "", "idler_bush_marks", "light", "wiped", "replace", "idler-bush-wiped"),
    ("idler_bush", "", "idler_bush_moved", "none", "crept", "replace", "idler-bush-moved"),
    ("accessory_bush", "", "idler_bush_marks", "light", "wiped", "replace", "accessory-bush-wiped"),
    ("accessory_bush", "", "idler_bush_moved", "none", "crept", "replace", "accessory-bush-moved"),
    ("idler_shaft", "", "idler_shaft_marks", "light", "catches", "replace", "idler-spindle-scored"),
    ("idler_shaft", "", "idler_oil_feed", "dirty", "blocked", "replace", "idler-feed-blocked"),
    ("balance_shaft", "", "balance_shaft_marks", "light", "catches", "replace", "balance-shaft-damaged"),
    ("timing_chain", "", "chain_links", "none", "stiff", "replace", "timing-chain-stiff"),
    ("timing_sprocket", "", "sprocket_teeth", "polished", "hooked", "replace", "sprockets-hooked"),
    ("chain_tensioner", "", "tensioner_shoe", "grooved", "worn_through", "replace",
     "chain-tensioner-worn-through"),
    ("chain_tensioner", "", "tensioner_plunger", "none", "leaks_down", "replace",
     "chain-tensioner-does-not-hold"),
    ("chain_guide", "", "guide_rail_wear", "grooved", "worn_through", "replace", "chain-rails-worn-through"),
    ("belt_tensioner", "", "pulley_bearing", "none", "dry", "replace", "belt-pulleys-worn"),
    ("drive_belt", "", "belt_condition", "glazed", "cracked", "replace", "drive-belt-cracked"),
    # Flywheel, ring gear, damper:
    ("ring_gear", "", "ring_gear_teeth", "entry_worn", "worn_or_chipped", "replace", "ring-gear-worn"),
    ("flywheel", "", "flywheel_seat", "fretted", "worn", "replace", "flywheel-seat-worn"),
    ("flywheel", "", "flywheel_heat_checks", "none", "crack", "replace", "flywheel-cracked"),
    ("torsional_damper", "", "damper_bond", "none", "moved", "replace", "damper-ring-moved"),
    ("torsional_damper", "", "damper_hub_track", "felt", "groove", "recondition", "damper-hub-grooved"),
    # Lubrication and cooling:
    ("oil_pump", "", "oil_pump_scoring", "light", "catches", "replace", "oil-pump-scored"),
    ("oil_pump", "", "oil_pump_drive_wear", "rounded", "worn", "replace", "oil-pump-drive-worn"),
    ("relief_valve", "", "relief_valve_seat", "marked", "worn", "replace", "relief-valve-seat-worn"),
    ("relief_valve", "", "relief_plunger_fit", "none", "drags", "replace", "relief-valve-sticks-when-clean"),
    ("oil_strainer", "", "strainer_mesh", "dented", "torn", "replace", "strainer-mesh-torn"),
    ("oil_strainer", "", "pickup_air_leak", "seal_hard", "leaks", "replace", "strainer-pipe-leaks"),
    ("oil_cooler", "", "cooler_debris", "none", "sludge", "recondition", "oil-cooler-sludged"),
    ("oil_cooler", "", "cooler_debris", "sludge", "metal", "replace", "oil-cooler-holds-metal"),
    ("oil_cooler", "", "cooler_leak", "none", "bubbles", "replace", "oil-cooler-leaks"),
    ("water_pump", "", "water_pump_leak", "none", "crust", "recondition", "water-pump-seal-weeps"),
    ("water_pump", "", "water_pump_bearing", "none", "rough", "recondition", "water-pump-bearing-gone"),
    ("water_pump", "", "impeller_damage", "pitted", "eaten", "replace", "water-pump-impeller-eaten"),
    ("thermostat", "", "thermostat_test", "none", "late", "replace", "thermostat-late"),
    ("coolant_hose", "", "hose_condition", "hard_or_soft", "cracked", "replace", "hose-cracked"),
    # Covers and manifolds. A second-hand cover is dealt with below.
    ("sump", "", "sump_damage", "flange_bent", "dented_at_pickup", "recondition",
     "sump-dented-at-the-pickup"),
    ("engine_cover", "side", "cover_damage", "flange_bent", "cracked", "replace", "cover-cracked"),
    ("engine_cover", "side", "earlier_weld", "clear_of_faces", "at_the_flange", "recondition",
     "cover-welded-at-the-flange"),
    ("engine_cover", "side", "earlier_weld", "at_the_flange", "cracked_again", "replace",
     "cover-weld-cracked-again"),
    ("spacer_plate", "", "face_tool_marks", "across_the_face", "ground_by_hand", "recondition",
     "spacer-face-ground-by-hand"),
    ("manifold", "exhaust", "manifold_crack", "warped", "cracked", "replace", "manifold-cracked"),
    # Fuel, air and ignition:
    ("injector", "1", "nozzle_spray", "none", "uneven", "recondition", "injector-sprays-unevenly"),
    ("injector", "1", "nozzle_drip", "damp", "drips", "recondition", "injector-drips"),
    ("injector", "1", "nozzle_heat", "carbon", "blued", "recondition", "injector-blued"),
    ("injector", "2", "injector_body", "seat_marked", "spoilt", "replace", "injector-body-spoilt"),
    ("injection_pump", "", "pump_bench_test", "none", "adjust", "recondition",
     "injection-pump-out-of-adjustment"),
    ("injection_pump", "", "pump_bench_test", "adjust", "fails", "recondition", "injection-pump-fails"),
    ("injection_pump", "", "injection_pump_body", "none", "stiff", "recondition", "injection-pump-stiff"),
    ("injection_pump", "", "injection_pump_body", "stiff", "broken", "replace", "injection-pump-broken"),
    ("injection_pump", "", "injection_pump_leak", "none", "outside", "recondition", "injection-pump-leaks"),
    ("fuel_lift_pump", "", "lift_pump_fails", "none", "weak", "replace", "lift-pump-fails"),
    ("turbocharger", "", "turbo_wheel_damage", "none", "rubs", "recondition", "turbo-wheel-rubs"),
    ("turbocharger", "", "turbo_wheel_damage", "nicked", "broken", "replace", "turbo-wheel-broken"),
    ("turbocharger", "", "turbo_feed", "coked", "blocked", "recondition", "turbo-feed-blocked"),
    ("charge_air_cooler", "", "charge_cooler_inside", "none", "oily", "recondition", "charge-cooler-oily"),
    ("charge_air_cooler", "", "charge_cooler_inside", "oily", "pieces", "replace",
     "charge-cooler-holds-pieces"),
    ("charge_air_cooler", "", "charge_cooler_leak", "none", "bubbles", "replace", "charge-cooler-leaks"),
    ("carburettor", "", "throttle_spindle_play", "felt", "rocks", "recondition", "carburettor-worn"),
    ("carburettor", "", "carburettor_body", "warped", "eaten", "replace", "carburettor-body-eaten"),
    ("ignition_unit", "", "ignition_shaft_play", "felt", "rocks", "recondition", "ignition-unit-worn"),
    ("ignition_unit", "", "ignition_shaft_play", "rocks", "body_worn", "replace", "ignition-unit-worn-out"),
]  # fmt: skip


@pytest.mark.parametrize(("part", "place", "finding", "stays", "goes", "verdict", "rule"), CONDEMNS)
def test_the_mildest_extent_that_condemns(
    part: str, place: str, finding: str, stays: str, goes: str, verdict: str, rule: str
) -> None:
    found = of(Round().found(part, place or "all", **{finding: goes}).decide(), part, place)
    assert found.verdict == verdict
    assert rule in because(found)
    milder = of(Round().found(part, place or "all", **{finding: stays}).decide(), part, place)
    assert rule not in because(milder)


SIZES = [
    # part, place, inside, beyond, verdict, rule; the limits are the maker's
    ("timing_gear", "cam", many("gear_backlash", "0.002 mm", "0.33 mm", SPOTS),
     many("gear_backlash", "0.002 mm", "0.37 mm", SPOTS), "replace", "timing-gear-backlash-beyond"),
    ("timing_gear", "cam", many("gear_backlash", "0.002 mm", "0.06 mm", SPOTS),
     many("gear_backlash", "0.002 mm", "0.04 mm", SPOTS), "replace", "timing-gear-backlash-too-small"),
    ("timing_gear", "cam", many("gear_backlash", "0.002 mm", "0.15 mm", SPOTS, second_spot="0.24 mm"),
     many("gear_backlash", "0.002 mm", "0.15 mm", SPOTS, second_spot="0.27 mm"), "replace",
     "timing-gear-runs-out"),
    ("accessory_gear", "", many("accessory_gear_backlash", "0.002 mm", "0.33 mm", SPOTS),
     many("accessory_gear_backlash", "0.002 mm", "0.37 mm", SPOTS), "replace",
     "accessory-gear-backlash-beyond"),
    ("accessory_bush", "", one("accessory_bush_play", "0.11 mm", "0.002 mm"),
     one("accessory_bush_play", "0.13 mm", "0.002 mm"), "replace", "accessory-bush-slack"),
    ("idler_bush", "", one("idler_end_float_reading", "0.43 mm", "0.005 mm"),
     one("idler_end_float_reading", "0.47 mm", "0.005 mm"), "replace", "idler-float-beyond"),
    ("flywheel", "", one("flywheel_face_runout", "0.24 mm", "0.003 mm"),
     one("flywheel_face_runout", "0.27 mm", "0.003 mm"), "recondition", "flywheel-face-runs-out"),
    ("torsional_damper", "", one("damper_runout", "0.58 mm", "0.005 mm"),
     one("damper_runout", "0.62 mm", "0.005 mm"), "replace", "damper-rim-runs-out"),
    ("oil_pump", "", one("rotor_end_gap", "0.12 mm", "0.003 mm"),
     one("rotor_end_gap", "0.14 mm", "0.003 mm"), "recondition", "oil-pump-end-clearance"),
    ("oil_pump", "", one("rotor_tip_gap", "0.24 mm", "0.003 mm"),
     one("rotor_tip_gap", "0.26 mm", "0.003 mm"), "replace", "oil-pump-rotors-worn"),
    ("oil_pump", "", one("rotor_body_gap", "0.37 mm", "0.003 mm"),
     one("rotor_body_gap", "0.39 mm", "0.003 mm"), "replace", "oil-pump-rotors-worn"),
    ("relief_valve", "", one("relief_spring_length", "50.2 mm", "0.02 mm"),
     one("relief_spring_length", "49.8 mm", "0.02 mm"), "replace", "relief-spring-tired"),
    ("relief_valve", "", one("relief_opening_pressure", "4.0 bar", "0.05 bar"),
     one("relief_opening_pressure", "3.6 bar", "0.05 bar"), "replace", "relief-valve-opens-wrongly"),
    ("relief_valve", "", one("relief_opening_pressure", "5.3 bar", "0.05 bar"),
     one("relief_opening_pressure", "5.7 bar", "0.05 bar"), "replace", "relief-valve-opens-wrongly"),
    ("water_pump", "", one("water_pump_shaft_play", "0.28 mm", "0.005 mm"),
     one("water_pump_shaft_play", "0.32 mm", "0.005 mm"), "recondition", "water-pump-bearing-gone"),
    ("thermostat", "", one("thermostat_opening", "86 °C", "0.3 K"),
     one("thermostat_opening", "88 °C", "0.3 K"), "replace", "thermostat-opens-wrongly"),
    ("engine_cover", "side", one("cover_gap", "0.14 mm", "0.003 mm"),
     one("cover_gap", "0.16 mm", "0.003 mm"), "recondition", "cover-out-of-flat"),
    ("sump", "", one("cover_gap", "0.14 mm", "0.003 mm"),
     one("cover_gap", "0.16 mm", "0.003 mm"), "recondition", "sump-out-of-flat"),
    ("head_bolt", "", one("head_bolt_length", "120.40 mm", "0.02 mm"),
     one("head_bolt_length", "120.60 mm", "0.02 mm"), "replace", "head-bolt-stretched"),
    ("manifold", "inlet", one("manifold_gap", "0.24 mm", "0.003 mm"),
     one("manifold_gap", "0.27 mm", "0.003 mm"), "recondition", "manifold-warped"),
    ("turbocharger", "", one("turbo_radial_play", "0.57 mm", "0.01 mm"),
     one("turbo_radial_play", "0.63 mm", "0.01 mm"), "recondition", "turbo-shaft-slack"),
    ("turbocharger", "", one("turbo_axial_play", "0.09 mm", "0.002 mm"),
     one("turbo_axial_play", "0.11 mm", "0.002 mm"), "recondition", "turbo-shaft-slack"),
    ("injector", "1", one("opening_pressure", "218 bar", "1 bar"),
     one("opening_pressure", "212 bar", "1 bar"), "recondition", "injector-opens-wrongly"),
    ("injector", "1", one("leak_back", "47 bar", "1 bar"),
     one("leak_back", "53 bar", "1 bar"), "recondition", "injector-leaks-back"),
]  # fmt: skip


@pytest.mark.parametrize(("part", "place", "inside", "beyond", "verdict", "rule"), SIZES)
def test_a_size_on_either_side_of_the_makers_limit(
    part: str, place: str, inside: str, beyond: str, verdict: str, rule: str
) -> None:
    kept = of(Round().measured(part, inside).decide(), part, place)
    assert kept.verdict == "reuse"
    gone = of(Round().measured(part, beyond).decide(), part, place)
    assert (gone.verdict, rule in because(gone)) == (verdict, True)


def test_a_plate_that_is_not_parallel() -> None:
    """Common practice, no source."""
    corners = ("first_corner", "second_corner", "third_corner", "fourth_corner")
    bent = many("plate_thickness", "0.002 mm", "12.00 mm", corners, third_corner="12.14 mm")
    plate = of(Round().measured("spacer_plate", bent).decide(), "spacer_plate")
    assert (plate.verdict, because(plate), work(plate)) == ("recondition", {"spacer-uneven"}, ["face_cover"])


@pytest.mark.parametrize(("made", "verdict"), [("torque", "reuse"), ("torque_to_yield", "replace")])
def test_bolts_tightened_beyond_yield_are_never_used_again(made: str, verdict: str) -> None:
    """Galloway Engines, of head bolts: never reused beyond yield; ordinary ones are, unless damaged."""
    decision = Round(tightening=made).decide()
    for part in ("head_bolt", "flywheel_bolt"):
        assert of(decision, part).verdict == verdict
    assert of(decision, "head_bolt").ground == ("sound" if verdict == "reuse" else "routine")


def test_ordinary_studs_and_nuts_go_back_to_their_figure() -> None:
    """AC 43.13-1B, par. 8-7: holding-down nuts to their torque and no further."""
    studs = of(Round().decide(), "fastener_set")
    assert studs.verdict == "reuse"
    assert "follow_hold_down_torque" in tasks(studs)


def test_a_new_head_gasket_goes_one_way() -> None:
    """NAVEDTRA 14264A, p. 3-10."""
    assert ("new-head-gasket-goes-one-way", "cylinder_head", "") in fired(Round().decide())


def test_burrs_come_off_with_a_stone_and_the_part_is_reused() -> None:
    """FAA-H-8083-32, ch. 10 (reposted)."""
    cover = of(
        Round().found("engine_cover", "side", face_tool_marks="light").decide(), "engine_cover", "side"
    )
    assert cover.verdict == "reuse"
    assert "stone_joint_face" in tasks(cover)


# ---- facts of the trade: common practice, no source ----


def second_hand(part: str, **findings: str) -> Verdict:
    """The verdict on a side cover from the shelf, flat on the table."""
    shelf = f"part: {part}, place: side, origin: second-hand, tag: used"
    inner = ", ".join(f"{name}: {extent}" for name, extent in findings.items())
    bench = Round().line(f"{{{shelf}, findings: {{{inner}}}, otherwise: none}}")
    bench.line(f"{{{shelf}, readings: {{{one('cover_gap', '0.05 mm', '0.003 mm')}}}}}")
    (used,) = [each for each in bench.decide().verdicts if each.tag == "used"]
    return used


def test_a_second_hand_cover_is_acceptable_when_flat_and_free_of_tool_marks() -> None:
    """Old sealant on it is no fault."""
    used = second_hand("engine_cover", old_sealant="traces")
    assert used.verdict == "reuse"
    assert {"clean_joint_face", "try_joint_dry"} <= tasks(used)
    for fault in ({"face_tool_marks": "across_the_face"}, {"cover_damage": "flange_bent"}):
        assert second_hand("engine_cover", **fault).verdict != "reuse"


@pytest.mark.parametrize("part", ["engine_cover", "spacer_plate", "sump"])
def test_a_welded_flange_is_held_against_a_sound_used_part(part: str) -> None:
    decision = Round(sump="aluminium").found(part, earlier_weld="at_the_flange").decide()
    welded = next(each for each in decision.verdicts if each.part == part)
    assert (welded.verdict, work(welded)) == ("recondition", ["face_cover"])
    assert "compare_with_used_part" in tasks(welded)


@pytest.mark.parametrize(
    ("metal", "verdict", "operation"),
    [
        ("sheet_steel", "recondition", ["weld_sump"]),
        ("aluminium", "recondition", ["weld_sump"]),
        ("cast_iron", "replace", []),
    ],
)
def test_a_cracked_sump_by_what_it_is_made_of(metal: str, verdict: str, operation: list[str]) -> None:
    sump = of(Round(sump=metal).found("sump", sump_damage="cracked").decide(), "sump")
    assert (sump.verdict, work(sump)) == (verdict, operation)


def test_no_doubtful_flywheel_or_damper_is_passed_by_eye() -> None:
    spots = Round().found("flywheel", flywheel_heat_checks="spots", flywheel_crack_test="not looked at")
    assert asked(of(spots.decide(), "flywheel")) == {("flywheel", "", "flywheel_crack_test")}
    tested = of(Round().found("flywheel", flywheel_heat_checks="spots").decide(), "flywheel")
    assert (tested.verdict, work(tested)) == ("recondition", ["face_flywheel"])
    line = Round().found("flywheel", flywheel_heat_checks="spots", flywheel_crack_test="line")
    assert of(line.decide(), "flywheel").verdict == "replace"
    lost = Round().found("flywheel", flywheel_heat_checks="spots", flywheel_crack_test="could not be judged")
    assert of(lost.decide(), "flywheel").verdict == "replace"

    crazed = Round().found("torsional_damper", damper_bond="crazed", damper_specialist_test="not looked at")
    damper = of(crazed.decide(), "torsional_damper")
    assert asked(damper) == {("torsional_damper", "", "damper_specialist_test")}
    passed = of(Round().found("torsional_damper", damper_bond="crazed").decide(), "torsional_damper")
    assert passed.verdict == "reuse"


def test_a_viscous_damper_is_tested_at_every_overhaul() -> None:
    bench = Round(damper="viscous").found("torsional_damper", damper_specialist_test="not looked at")
    assert of(bench.decide(), "torsional_damper").verdict == "undecided"


def test_a_dual_mass_flywheel_is_not_faced() -> None:
    spots = Round(flywheel="dual_mass").found("flywheel", flywheel_heat_checks="spots")
    assert of(spots.decide(), "flywheel").verdict == "replace"
    assert of(Round(flywheel="dual_mass").decide(), "flywheel").verdict == "reuse"


def test_a_new_ring_gear_is_work_on_the_flywheel() -> None:
    decision = Round().found("ring_gear", ring_gear_teeth="worn_or_chipped").decide()
    flywheel = of(decision, "flywheel")
    assert (flywheel.verdict, work(flywheel)) == ("recondition", ["renew_ring_gear"])


def test_rings_and_rails_go_with_their_set() -> None:
    """The tensioner and the chain or belt are renewed as a set; the sound ones are not condemned by it."""
    decision = Round().found("chain_guide", guide_rail_wear="worn_through").decide()
    for part in ("timing_chain", "timing_sprocket", "chain_tensioner"):
        assert (of(decision, part).verdict, of(decision, part).course.answer) == ("reuse", "replace")
    assert of(decision, "belt_tensioner").course.answer == "replace"


# ---- evidence: what is not known is asked for, and what cannot be known falls to the safe side ----


@pytest.mark.parametrize(
    ("part", "place", "finding", "verdict"),
    [
        ("timing_gear", "cam", "gear_tooth_damage", "replace"),
        ("idler_bush", "", "idler_bush_moved", "replace"),
        ("chain_guide", "", "guide_rail_wear", "replace"),
        ("oil_pump", "", "oil_pump_scoring", "replace"),
        ("oil_cooler", "", "cooler_debris", "replace"),
        ("water_pump", "", "water_pump_leak", "recondition"),
        ("thermostat", "", "thermostat_test", "replace"),
        ("engine_cover", "side", "cover_damage", "replace"),
        ("sump", "", "earlier_weld", "replace"),
        ("manifold", "inlet", "manifold_crack", "replace"),
        ("head_bolt", "", "head_bolt_neck", "replace"),
        ("injector", "1", "nozzle_spray", "recondition"),
        ("injection_pump", "", "pump_bench_test", "recondition"),
        ("carburettor", "", "float_and_needle", "recondition"),
    ],
)
def test_unknown_is_asked_and_unknowable_falls_to_the_safe_side(
    part: str, place: str, finding: str, verdict: str
) -> None:
    """Common practice, no source."""
    waits = of(Round().found(part, place or "all", **{finding: "not looked at"}).decide(), part, place)
    assert waits.verdict == "undecided"
    assert (part, place, finding) in asked(waits)
    never = of(Round().found(part, place or "all", **{finding: "could not be judged"}).decide(), part, place)
    assert (never.verdict, never.ground) == (verdict, "safe side")


@pytest.mark.parametrize(
    ("part", "reading", "dimension"),
    [
        ("idler_bush", "idler_end_float_reading", "idler_end_float"),
        ("oil_pump", "rotor_end_gap", "rotor_end_clearance"),
        ("spacer_plate", "plate_thickness", "plate_unevenness"),
    ],
)
def test_what_was_not_measured_is_asked_for(part: str, reading: str, dimension: str) -> None:
    item = of(Round().unmeasured(part, reading).decide(), part)
    assert (item.verdict, asked(item)) == ("undecided", {(part, "", dimension)})
