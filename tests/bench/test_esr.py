"""Series resistance of electrolytics."""

from decimal import Decimal

import pytest

from inventory.components.notation import NotationError, read_notation
from jobs.bench.verdicts import judge


@pytest.mark.parametrize(
    ("called", "measured", "expected"),
    [
        ("20 µF 450 V", "ESR 2.5 Ω", "within"),
        ("20 µF 450 V", "esr: 2,5", "within"),
        ("20 µF 450 V", "2.5 ohm ESR", "within"),
        ("20 µF 450 V", "series resistance 40 ohm", "drifted"),
        ("20 µF 450 V", "ESR open", "open"),
        ("470 µF 16 V", "ESR 0.2", "within"),
        ("470 µF 16 V", "ESR 0.5", "drifted"),
        ("0.05 µF 400 V", "ESR 3", "not_measured"),
        ("470 k", "ESR 3", "not_measured"),
    ],
)
def test_a_series_resistance_gets_its_verdict(called, measured, expected):
    assert judge(read_notation(called), measured).verdict == expected


def test_the_reason_says_what_is_usual_and_how_far_to_trust_it():
    judgement = judge(read_notation("20 µF 450 V"), "ESR 40")
    assert judgement.reasons == (
        "Its ESR reads 40 Ω; up to 6 Ω is usual for its size (usual figures of ESR charts, from memory): it is drying out.",
    )
    assert judgement.limits == (Decimal(0), Decimal("6.00"))


def test_the_limit_falls_with_size_and_never_below_the_leads():
    limits = [judge(read_notation(f"{size} µF 63 V"), "ESR 0.1").limits[1] for size in (1, 10, 100, 1000, 10000)]
    assert limits == sorted(limits, reverse=True)
    assert limits[-1] == Decimal("0.30")


@pytest.mark.parametrize("measured", ["ESR", "ESR fine", "ESR -1", "ESR 5 V", "ESR 1e99"])
def test_what_is_no_series_resistance_is_asked_for(measured):
    with pytest.raises(NotationError):
        judge(read_notation("20 µF 450 V"), measured)
