"""What can be asked, each with its shape, its codes and its ways to be misread."""

import json
from typing import Any

import pytest

from shop.asking.door import answer


def ask(name: str, **fields: Any) -> dict[str, Any]:
    given = answer(json.dumps({"id": 1, "do": name, **fields}).encode())
    assert given["ok"], given["error"]
    return given["result"]


def refusal(name: str, **fields: Any) -> dict[str, Any]:
    given = answer(json.dumps({"id": 1, "do": name, **fields}).encode())
    assert not given["ok"], given
    return given["error"]


class TestReadNotation:
    def test_a_value_comes_in_its_base_unit_with_its_ratings(self):
        assert ask("read_notation", text="470K 1/2W 10%") == {
            "kind": "resistance",
            "value": 470_000.0,
            "unit": "ohm",
            "tolerance_percent": [-10.0, 10.0],
            "volts": None,
            "watts": 0.5,
            "safety_class": None,
        }

    def test_a_can_gives_its_sections(self):
        found = ask("read_notation", text="40+20/450")
        assert (found["value"], found["volts"]) == (4e-5, 450.0)
        assert found["sections"] == [4e-5, 2e-5]

    def test_a_code_that_may_be_a_value_is_asked_with_every_reading_in_full(self):
        error = refusal("read_notation", text="103", kind="capacitance")
        assert error["code"] == "ambiguous"
        assert {1e-8, 1.03e-10} <= {one["value"] for one in error["readings"]}
        assert all(one["unit"] == "F" and one["why"] and "tolerance_percent" in one for one in error["readings"])

    def test_a_value_that_no_radio_holds_is_out_of_range(self):
        assert refusal("read_notation", text="1000 F")["code"] == "out_of_range"

    def test_a_text_that_is_too_long_says_how_long_it_may_be(self):
        error = refusal("read_notation", text="4K7" * 200)
        assert error["code"] == "too_long"
        assert "80" in error["message"]


class TestReadColours:
    def test_bands_give_the_same_shape(self):
        found = ask("read_colours", scheme="iec60062", colours=["yellow", "violet", "orange", "gold"])
        assert (found["kind"], found["value"], found["unit"]) == ("resistance", 47_000.0, "ohm")
        assert found["tolerance_percent"] == [-5.0, 5.0]

    def test_a_missing_colour_may_be_null(self):
        assert ask("read_colours", scheme="body_end_dot", colours=["red", "green", "orange", None])["value"] == 25_000.0

    def test_an_unknown_scheme_is_named_with_the_known_ones(self):
        error = refusal("read_colours", scheme="rainbow", colours=["red"])
        assert error["code"] == "unknown"
        assert "body_end_dot" in error["message"]

    def test_colours_must_be_a_list(self):
        assert refusal("read_colours", scheme="iec60062", colours="red red red")["code"] == "unreadable"


class TestPreferred:
    def test_neighbours_and_the_nearest_by_ratio(self):
        found = ask("preferred", series="E12", value=5000)
        assert (found["below"], found["nearest"], found["above"]) == (4700.0, 4700.0, 5600.0)
        assert found["deviation_percent"] == pytest.approx(-6.0)

    @pytest.mark.parametrize("value", [0, -1, "0"])
    def test_only_values_above_zero_have_neighbours(self, value):
        assert refusal("preferred", series="E12", value=value)["code"] == "out_of_range"

    def test_an_unknown_series_is_unknown(self):
        assert refusal("preferred", series="E13", value=1)["code"] == "unknown"


class TestJudge:
    def test_a_drifted_resistor_comes_with_its_limits_and_a_sentence(self):
        found = ask("judge", called="470K 10%", measured="560k")
        assert found["verdict"] == "drifted"
        assert found["deviation_percent"] == pytest.approx(19.15, abs=0.01)
        assert found["limits"] == [423_000.0, 517_000.0]
        assert found["reasons"][0].startswith("It reads 560 kΩ")

    def test_the_limits_are_the_given_tolerance_before_the_called_one_before_the_practice(self):
        assert ask("judge", called="470K 10%", measured="560k", tolerance_percent=20)["verdict"] == "within"
        assert ask("judge", called="470K", measured="560k", practice=10)["verdict"] == "drifted"
        assert ask("judge", called="470K", measured="560k")["verdict"] == "within"

    def test_a_lopsided_practice_may_be_given(self):
        assert ask("judge", called="20 µF", measured="33 µF", practice=[-20, 80])["limits"] == [1.6e-5, 3.6e-5]

    def test_a_role_tells_windings_and_valves(self):
        assert ask("judge", called="450", measured="560", role="choke")["verdict"] == "within"
        assert ask("judge", called="450 ohm", measured="560 ohm")["verdict"] == "drifted"
        assert ask("judge", called="6V6-GT", measured="48 %", role="valve")["verdict"] == "drifted"
        assert refusal("judge", called="1 k", measured="1 k", role="nothing of the kind")["code"] == "unknown"

    def test_words_of_the_meter_are_readings(self):
        assert ask("judge", called="450 Ω", measured="open")["verdict"] == "open"

    def test_a_doubtful_value_is_judged_in_every_reading(self):
        error = refusal("judge", called="103", measured="10.3 nF", kind="capacitance")
        assert error["code"] == "ambiguous"
        verdicts = {one["called"]["value"]: one["verdict"] for one in error["readings"]}
        assert verdicts[1e-8] == "within"
        assert set(verdicts.values()) != {"within"}

    def test_a_tolerance_that_can_not_be_is_out_of_range(self):
        assert refusal("judge", called="470K", measured="470K", tolerance_percent=-5)["code"] == "out_of_range"


class TestSubstitute:
    def test_the_rectifier_refuses_what_its_sheet_refuses(self):
        found = ask("substitute", role="reservoir", called="20 µF 450 V", candidate="47 µF 450 V", rectifier="5Y3-GT")
        assert found["answer"] == "no"
        assert any(one["code"] == "reservoir_limit" and "20 µF" in one["message"] and one["source"] for one in found["reasons"])

    def test_a_good_part_is_told_why(self):
        found = ask("substitute", role="coupling", called=".02 µF 400 V", candidate=".022 µF 630 V")
        assert found["answer"] == "yes"
        assert found["reasons"]

    def test_an_unknown_role_lists_what_is_known(self):
        error = refusal("substitute", role="flux capacitor", called="1 µF", candidate="1 µF")
        assert error["code"] == "unknown"
        assert "reservoir" in error["message"]

    def test_a_part_of_another_kind_is_refused_by_a_rule_not_by_the_reader(self):
        assert ask("substitute", role="coupling", called="0.02 µF 400 V", candidate="470 kΩ")["answer"] == "no"

    def test_valves_are_judged_by_type(self):
        assert ask("substitute", role="valve", called="6V6-GT", candidate="6V6-GT")["answer"] == "yes"
        assert ask("substitute", role="valve", called="6V6-GT", candidate="ECC83")["answer"] == "no"

    def test_a_doubtful_candidate_is_judged_in_every_reading(self):
        error = refusal("substitute", role="coupling", called="0.01 µF 400 V", candidate="103")
        assert error["code"] == "ambiguous"
        assert all(one["answer"] in ("yes", "warn", "no") and one["candidate"] for one in error["readings"])


class TestSupply:
    CIRCUIT = {
        "topology": "full-wave",
        "volts_rms": 300,
        "frequency_hz": 60,
        "source_ohms": 50,
        "rectifier": "5Y3-GT",
        "reservoir_uf": 47,
        "choke_h": 10,
        "choke_ohms": 450,
        "smoothing_uf": 20,
        "load_amps": 0.07,
    }

    def test_every_figure_is_a_number_and_the_limits_say_what_is_exceeded(self):
        found = ask("supply", **self.CIRCUIT)
        limits = found.pop("limits")
        assert all(isinstance(value, float) and value > 0 for value in found.values())
        assert any(one["exceeded"] and one["message"] and one["source"] for one in limits)

    @pytest.mark.parametrize(
        "odd",
        [
            {"load_amps": 0},
            {"load_amps": -0.07},
            {"reservoir_uf": 1_000_000},
            {"frequency_hz": 1_000_000},
            {"volts_rms": 0},
            {"source_ohms": -1},
            {"load_ohms": 4500},
        ],
        ids=str,
    )
    def test_an_absurd_circuit_is_out_of_range(self, odd):
        error = refusal("supply", **{**self.CIRCUIT, **odd})
        assert error["code"] == "out_of_range"
        assert len(error["message"]) > 30

    def test_a_law_may_be_given_instead_of_a_type(self):
        for law in ({"law": "linear", "ohms": 130}, {"law": "three_halves", "perveance": 0.00035}):
            assert ask("supply", **{**self.CIRCUIT, "rectifier": law})["bplus_mean_v"] > 200

    def test_a_rectifier_that_is_not_on_file_is_unknown(self):
        assert refusal("supply", **{**self.CIRCUIT, "rectifier": "ZZ99"})["code"] == "unknown"


class TestLeakage:
    def test_the_hot_check_passes_at_0_74_volts_and_fails_at_0_76(self):
        assert ask("leakage", volts_rms=0.74)["passed"] is True
        found = ask("leakage", volts_rms=0.76)
        assert found["passed"] is False
        assert found["source"]
        assert found["limit"]

    def test_only_one_reading_is_taken(self):
        error = refusal("leakage", volts_rms=0.1, amps=0.0001)
        assert (error["code"], error["message"]) == (
            "unreadable",
            "Give one of “volts_rms” (across the standard network), “amps” and “cold_ohms”.",
        )

    def test_an_unknown_practice_lists_the_known_ones(self):
        assert refusal("leakage", volts_rms=0.1, practice="none")["code"] == "unknown"


class TestTotals:
    LINE = {"quantity": "1.5", "unit_price": "48.00", "tax_category": "S", "tax_percent": "20"}

    def test_sums_are_decimal_strings(self):
        found = ask("totals", currency="GBP", lines=[self.LINE], prepaid="20")
        assert found == {
            "lines": ["72.00"],
            "tax": [{"tax_category": "S", "tax_percent": "20", "taxable": "72.00", "tax": "14.40"}],
            "net": "72.00",
            "tax_total": "14.40",
            "gross": "86.40",
            "due": "66.40",
        }

    def test_allowances_and_charges_count_with_their_rate_and_20_is_20_00(self):
        change = {"amount": "10", "tax_category": "S", "tax_percent": "20.00"}
        found = ask("totals", currency="GBP", lines=[self.LINE], allowances=[change], charges=[{**change, "amount": 4}])
        assert (found["net"], found["tax_total"], len(found["tax"])) == ("66.00", "13.20", 1)

    def test_currencies_have_the_decimals_of_the_standard(self):
        line = {"quantity": 3, "unit_price": "0.3335", "tax_percent": 0}
        assert ask("totals", currency="JPY", lines=[{**line, "unit_price": "333.5"}])["net"] == "1001"
        assert ask("totals", currency="KWD", lines=[line])["net"] == "1.001"

    def test_rounding_by_line_and_by_rate_differ_as_they_must(self):
        lines = [{"unit_price": "0.02", "tax_percent": "20"}] * 3
        assert ask("totals", currency="GBP", lines=lines, rounding="line")["tax_total"] == "0.00"
        assert ask("totals", currency="GBP", lines=lines, rounding="rate")["tax_total"] == "0.01"

    def test_a_rate_with_three_decimals_is_exact(self):
        found = ask("totals", currency="USD", lines=[{"unit_price": "100.00", "tax_percent": "8.875"}])
        assert (found["tax_total"], found["tax"][0]["tax_percent"]) == ("8.88", "8.875")

    @pytest.mark.parametrize(
        ("odd", "code"),
        [
            ({"currency": "ZZZ"}, "unknown"),
            ({"lines": None}, "unreadable"),
            ({"lines": [{"quantity": 1}]}, "unreadable"),
            ({"lines": [{"unit_price": "1e15"}]}, "out_of_range"),
            ({"lines": [{"unit_price": "1e9", "quantity": "1e9"}]}, "out_of_range"),
            ({"lines": [{"unit_price": 1, "tax_percent": 120}]}, "out_of_range"),
            ({"lines": [{"unit_price": 1}] * 501}, "too_long"),
            ({"prepaid": "0.001"}, "out_of_range"),
            ({"rounding": "bankers"}, "unknown"),
            ({"prices_include_tax": "yes"}, "unreadable"),
        ],
        ids=str,
    )
    def test_what_can_not_be_reckoned_is_refused(self, odd, code):
        error = refusal("totals", **{"currency": "GBP", "lines": [self.LINE], **odd})
        assert error["code"] == code
        assert len(error["message"]) > 20
