"""The hazards that others publish are among the cautions, and a set is shown those that concern it."""

import pytest

from inventory.components.tables import toml_table
from jobs.bench.hazards import SUPPLY_KINDS, cautions, features_in
from tests.outside.facts import agree, facts

EVERYTHING = frozenset(row["code"] for row in toml_table("jobs.bench", "hazards.toml")["caution"])


@pytest.mark.parametrize("row", facts("hazards.csv"), ids=lambda row: f"{row['caution']}-{row['says'][:20]}")
def test_a_published_hazard_is_told(row):
    told = {one.code: f"{one.title}. {one.text}".lower() for one in cautions("", year=None, has_valves=True, features=EVERYTHING)}
    text = told.get(row["caution"], "")
    missing = [word for word in row["says"].split() if word not in text]
    agree(row, not missing, f"the caution {row['caution']} doesn't speak of {', '.join(missing)}")


def test_a_remembered_caution_says_so():
    remembered = {one["caution"] for one in facts("hazards.csv") if one["origin"] == "memory"}
    rows = {one["code"]: one["source"] for one in toml_table("jobs.bench", "hazards.toml")["caution"]}
    assert all("from memory" in rows[code] for code in remembered)


@pytest.mark.parametrize(
    ("said", "lineup", "feature"),
    [
        ("", "6J7, 6F6, 83", "mercury_rectifier"),
        ("", "866A pair", "mercury_rectifier"),
        ("Luminous paint on the dial", "", "luminous_paint"),
        ("selenium stack, 250 V", "", "selenium"),
        ("asbestos above V4", "", "asbestos"),
        ("combined with a television", "", "picture_tube"),
    ],
)
def test_what_a_set_is_said_to_hold_adds_its_caution(said, lineup, feature):
    features = features_in([said], lineup)
    assert feature in features
    for supply in SUPPLY_KINDS:
        plain = cautions(supply, year=1975, has_valves=False)
        assert len(cautions(supply, year=1975, has_valves=False, features=features)) > len(plain)


def test_a_figure_in_a_note_is_no_type_of_valve():
    assert features_in(["82 kΩ, reads 83"], "6V6, 6X5") == frozenset()
    assert features_in(["x" * 1_000_000], "82" * 10_000) == frozenset()
