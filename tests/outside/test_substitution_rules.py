"""Rules, limits and sums of the trade in public: the files in data/ name each source."""

from decimal import Decimal

import pytest

from inventory.components.heaters import chain, heater_of
from inventory.components.line_rules import line_leak
from inventory.components.notation import read_notation
from inventory.components.rating_rules import no_load_peak_volts
from inventory.components.safety_classes import class_rules
from inventory.components.substitution import Candidate, judge_substitute
from inventory.components.tables import toml_table
from inventory.components.watt_rules import standard_watts
from tests.outside.facts import agree, facts


@pytest.mark.parametrize("row", facts("substitution_rules.csv"), ids=lambda row: row["id"])
def test_a_rule_of_the_trade_holds(row):
    spec = read_notation(row["candidate"])
    given = judge_substitute(row["role"], read_notation(row["called"]), Candidate(spec, spec.kind))
    holds = given.answer != "no" if row["answer"] == "not no" else given.answer == row["answer"]
    agree(row, holds, f"{row['id']} is answered {given.answer}: {[one.message for one in given.reasons]}")


@pytest.mark.parametrize("row", facts("no_load_peaks.csv"), ids=lambda row: row["id"])
def test_the_peak_before_the_valves_draw_current(row):
    peak = no_load_peak_volts(Decimal(row["volts_rms"]))
    agree(row, abs(peak - Decimal(row["volts"])) <= Decimal("0.005"), f"the peak is {peak}")


@pytest.mark.parametrize("row", facts("line_currents.csv"), ids=lambda row: f"{row['nanofarads']}nF-{row['volts']}V")
def test_the_current_that_a_capacitor_lets_through_at_the_line(row):
    volts, hertz = Decimal(row["volts"]), Decimal(row["hertz"])
    leak = line_leak(Decimal(row["nanofarads"]) * Decimal("1e-9"), volts, hertz)
    agree(row, abs(leak.amps * 1000 - Decimal(row["milliamps"])) <= Decimal("0.00005"), f"it is {leak.amps}")


@pytest.mark.parametrize(("volts", "hertz"), [("117", 60), ("120", 60), ("230", 50), ("240", 50)])
def test_the_hertz_of_a_line_are_those_of_its_neighbour(volts, hertz):
    # source: the usual lines of the published current rows (117 and 120 V at 60 Hz, 230 V at 50 Hz)
    assert line_leak(Decimal("1e-9"), Decimal(volts)).hertz == hertz


@pytest.mark.parametrize("row", facts("heaters.csv"), ids=lambda row: row["type"])
def test_a_heater_is_the_data_sheets(row):
    heater = heater_of(row["type"])
    holds = heater is not None and (heater.volts, heater.amps) == (Decimal(row["volts"]), Decimal(row["amps"]))
    agree(row, holds, f"{row['type']} gives {heater}")


@pytest.mark.parametrize("row", facts("heater_chains.csv"), ids=lambda row: row["id"])
def test_a_chain_of_heaters_adds_up(row):
    given = getattr(chain(row["types"].split(), Decimal(row["line_volts"])), row["quantity"])
    agree(row, abs(given - Decimal(row["value"])) <= Decimal("0.05"), f"{row['quantity']} of {row['id']} is {given}")


def test_a_rating_is_twice_the_dissipation_in_the_next_standard_size():
    # source: microhm.net articles 1127
    assert standard_watts(Decimal("0.22") * 2) == Decimal("0.5")
    assert standard_watts(Decimal("0.3") * 2) == Decimal(1)


def test_the_touch_current_is_the_half_milliamp_of_the_hot_check():
    # source: Panasonic service manuals (0.5 mA); Benning ST 755 manual (VDE 0701-0702:2008-06) at manualshive.com
    limit = Decimal(toml_table("inventory.components", "substitution.toml")["leakage"]["limit_amps"])
    assert limit * 1000 == Decimal(next(row["limit"] for row in facts("safety_limits.csv") if row["test"] == "hot_milliamps"))


@pytest.mark.parametrize("code", ["X1", "X2", "X3"])
def test_x_classes_stand_across_the_line_only(code):
    # source: blog.knowlescapacitors.com 2025-05-14; digikey Kemet tutorial slide 12; everycircuit.com 5025610624401408
    rule = class_rules()[code]
    assert (rule.line_to_line != "no", rule.line_to_chassis) == (True, "no")


@pytest.mark.parametrize("code", ["Y1", "Y2", "Y3", "Y4"])
def test_y_classes_may_bridge_to_the_chassis(code):
    # source: blog.knowlescapacitors.com 2025-05-14; IEEE EMC-PSTC list, R. Nute, msg21132
    assert class_rules()[code].line_to_chassis != "no"


def test_no_rule_in_the_tables_is_without_a_source():
    tables = toml_table("inventory.components", "substitution.toml"), toml_table("inventory.components", "roles.toml")
    sections = [one for table in tables for value in table.values() for one in (value if isinstance(value, list) else [value])]
    assert all(one.get("source") or "words" in one for one in sections)
    assert sum("common practice, no source" in str(one) for one in sections) >= 3
