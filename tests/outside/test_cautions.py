"""Every caution hangs before something, and stands where a machinist would look for it.

Sources: 29 CFR 1910.242(b), 1910.151(c) and 1910.133(a)(1), EPA/560/OPTS-86/002, 29 CFR 1910.1001 appendix F,
US Navy NAVEDTRA 14264A, AMS driver manual 2024 and CoatingsPro 2013 for the rows F1 to F19 of
`docs/handbook-table.md`. Where each caution hangs is common practice, no source.
"""

from __future__ import annotations

from collections import defaultdict

import pytest

from tests.outside.crank import Bench, of, rules
from tests.outside.test_handbook_table import _rows


def _hung() -> dict[str, set[str]]:
    """By caution: the parts, operations and tasks that show it."""
    vocabulary = rules().vocabulary
    found: dict[str, set[str]] = defaultdict(set)
    for entries in (vocabulary.kinds, vocabulary.operations, vocabulary.tasks):
        for name, entry in entries.items():
            for key in entry.cautions:
                found[key].add(name)
    return found


def test_every_caution_hangs_on_a_part_an_operation_or_a_task() -> None:
    assert set(_hung()) == set(rules().cautions)


def test_every_caution_says_who_governs_and_where_it_was_read() -> None:
    for name, caution in rules().cautions.items():
        assert caution.governs, name
        assert caution.cite, name
        for cite in caution.cite:
            assert cite.row or cite.source == "common_practice", (name, cite.source)


def test_the_table_of_safety_facts_is_complete() -> None:
    """The published facts were numbered F1 to F19, without F13, F17 and F18."""
    wanted = {f"F{n}" for n in (*range(1, 13), 14, 15, 16, 19)}
    assert wanted <= _rows().keys()


@pytest.mark.parametrize(
    ("caution", "places"),
    [
        ("burnt_fluoroelastomer", {"crank_oil_seal", "stem_seal", "gasket_set"}),
        ("sodium_valves", {"inlet_valve", "exhaust_valve", "reface_valve"}),
        ("beryllium_copper", {"inlet_seat", "exhaust_guide", "cut_seat"}),
        ("light_metal_in_caustic", {"cylinder_head", "piston", "descale_jacket"}),
        ("magnesium_swarf", {"engine_cover", "weld_sump"}),
        ("chlorinated_cleaner_near_heat", {"weld_sump", "renew_seat_insert", "turn_ring_gear"}),
        ("fuel_vapour_and_rags", {"injector", "fuel_lift_pump", "cap_fuel_lines"}),
        ("oil_in_blind_holes", {"head_bolt", "main_cap_bolt", "chase_threads", "follow_thread_rule"}),
        ("fluid_in_cylinder", {"cylinder_bore", "head_gasket", "injector", "prime_oil_system"}),
        ("sealed_hollows", {"exhaust_valve", "camshaft", "weld_sump", "nitride_again"}),
        ("deep_cold", {"renew_seat_insert", "sleeve_bore", "renew_guide"}),
        ("pressure_test", {"test_jacket_with_water", "clean_and_test_cooler", "stitch_crack"}),
        ("hard_parts_shatter", {"piston_pin", "timing_gear", "renew_small_end_bush"}),
        ("crack_test_hazards", {"grind_main_journals", "grind_crank_pins", "demagnetise"}),
        ("high_pressure_fuel", {"injector", "injection_pump", "service_injector"}),
        ("engine_stand", {"cylinder_block", "crankshaft", "line_bore_mains"}),
        ("first_start", {"prime_oil_system", "injection_pump"}),
        ("run_away", {"air_shut_off_ready", "injection_pump"}),
        ("hot_crankcase", {"sump", "main_shell", "piston"}),
        ("lead_and_debris", {"main_shell", "big_end_shell", "sump", "oil_filter"}),
        ("used_coolant", {"water_pump", "thermostat", "core_plug"}),
        ("harmful_dust", {"deglaze_bore", "clean_ring_grooves", "manifold"}),
        ("old_gaskets", {"head_gasket", "gasket_set", "manifold"}),
        ("doubtful_fastener", {"rod_bolt", "main_cap_bolt", "head_bolt"}),
        ("flywheel_or_damper", {"flywheel", "torsional_damper", "face_flywheel"}),
        ("no_release", {"crankshaft", "connecting_rod", "cylinder_block"}),
        ("springs_under_load", {"valve_spring", "valve_collets", "relief_valve"}),
        ("circlips", {"pin_circlip", "piston_pin"}),
        ("heavy_parts", {"crankshaft", "cylinder_block", "cylinder_head", "flywheel"}),
        ("compressed_air", {"brush_oilways", "chase_threads", "blow_out_blind_holes"}),
        ("lapping_paste", {"lap_valve"}),
    ],
)
def test_a_caution_stands_where_the_danger_is(caution: str, places: set[str]) -> None:
    assert places <= _hung()[caution]


def test_a_caution_that_hangs_on_several_parts_does_not_speak_of_one_alone() -> None:
    says = rules().cautions["heavy_parts"].says.lower()
    assert all(word in says for word in ("block", "head", "crankshaft", "flywheel"))


def test_cautions_of_part_task_and_work_come_with_the_verdict() -> None:
    decision = Bench().found("main_journal", "2", scoring="catches").decide()
    assert {"heavy_parts", "crack_test_hazards"} <= set(of(decision, "main_journal", "2").cautions)
    assert {"doubtful_fastener", "oil_in_blind_holes"} <= set(of(decision, "main_cap_bolt", "2").cautions)
