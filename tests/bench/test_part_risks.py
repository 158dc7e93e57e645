"""What may happen when a part fails: every role has its row, and none is told as lighter than its safety class says."""

from inventory.components.roles import ROLES, role
from jobs.bench.part_risks import DANGER, GRADES, HARMLESS, risk_of


def test_every_role_has_a_risk_of_its_own_with_a_source() -> None:
    for code in ROLES:
        risk = risk_of(code)
        assert risk.grade in GRADES
        assert risk.words.endswith(".")
        assert risk.source
    assert risk_of("nothing that is known") == risk_of("other")


def test_what_needs_a_safety_class_is_a_danger() -> None:
    """IEC 60384-14: class Y where a failure could give a shock, class X across the line."""
    needing = [code for code in ROLES if role(code).safety]
    assert {risk_of(code).grade for code in needing} == {DANGER}
    assert len(needing) == 3


def test_what_nobody_wrote_down_is_told_as_the_worst() -> None:
    assert risk_of("capacitor").is_danger
    assert risk_of("other").is_danger
    assert risk_of("avc").grade == HARMLESS
