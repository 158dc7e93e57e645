"""Whether an uncollected set may be sold on a day, judged from plain data under the rules of each place.

The figures are the places' own, cited in `shop/jurisdictions/places`. A day of a dispute not counting is the shop's caution where
the law only says that nothing is sold while it is open (Torts (Interference with Goods) Act 1977, schedule 1).
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.jurisdictions import PLACES
from shop.jurisdictions.selling import Dispute, Proof, SaleCase, Sent, against_sale, last_sale, may_sell_from

READY = date(2031, 1, 1)


def lawful(code: str) -> SaleCase:
    """Everything as the place wants it, sold on the day named."""
    rule = PLACES[code].uncollected
    sent_on = READY + timedelta(days=rule.wait_days)
    day = sent_on + timedelta(days=max(rule.notice_days, rule.sale.published_days))
    proofs = (Proof("posted", sent_on), Proof("published", sent_on))
    return SaleCase(READY, day, (Sent("collect", READY), Sent("sale", sent_on, day, proofs)), auctioned=True)


def codes(case: SaleCase, code: str) -> list[str]:
    return [one.code for one in against_sale(case, PLACES[code].uncollected)]


@pytest.mark.parametrize("code", sorted(PLACES))
def test_nothing_is_against_a_sale_that_keeps_to_the_rules(code: str) -> None:
    assert codes(lawful(code), code) == []


@pytest.mark.parametrize("code", sorted(PLACES))
def test_a_day_too_early_an_older_notice_and_none_at_all_are_against_it(code: str) -> None:
    case = lawful(code)
    assert "too_early" in codes(replace(case, day=case.day - timedelta(days=1)), code)
    assert codes(replace(case, notices=()), code) == ["no_notice"]
    newer = Sent("sale", case.day, case.day + timedelta(days=400), case.notices[1].proofs)
    assert "too_early" in codes(replace(case, notices=(*case.notices, newer)), code)


def test_where_the_rule_wants_it_sent_the_sale_waits_for_the_proof() -> None:
    case = lawful("gb")
    first, last = case.notices
    bare = replace(case, notices=(first, replace(last, proofs=())))
    assert codes(bare, "gb") == ["unproven"]
    back = replace(last, proofs=(*last.proofs, Proof("came_back", case.day)))
    assert codes(replace(case, notices=(first, back)), "gb") == ["came_back"]
    again = replace(back, proofs=(*back.proofs, Proof("delivered", case.day)))
    assert codes(replace(case, notices=(first, again)), "gb") == ["short_notice"], "served again, the day named is too near"


def test_a_notice_that_must_be_published_waits_for_its_days() -> None:
    """New York Lien Law 202: not less than fifteen days from the first publication."""
    case = lawful("us_new_york_city")
    first, last = case.notices
    late = replace(last, proofs=(last.proofs[0], Proof("published", case.day - timedelta(days=14))))
    assert codes(replace(case, notices=(first, late)), "us_new_york_city") == ["just_published"]
    assert codes(replace(case, notices=(first, replace(last, proofs=last.proofs[:1]))), "us_new_york_city") == ["unpublished"]


def test_an_auction_is_wanted_where_the_rule_says_so() -> None:
    assert codes(replace(lawful("us_minnesota"), auctioned=False), "us_minnesota") == ["auction"]
    assert codes(replace(lawful("gb"), auctioned=False), "gb") == []


def test_an_open_dispute_is_firm_where_the_rule_stops_for_it_and_a_caution_elsewhere() -> None:
    for code, firm in (("gb", True), ("de", False)):
        case = replace(lawful(code), disputes=(Dispute(READY),))
        found = next(one for one in against_sale(case, PLACES[code].uncollected) if one.code == "disputed")
        assert found.is_firm is firm


def test_what_a_remembered_rule_wants_gives_way_to_who_read_the_text() -> None:
    found = against_sale(
        replace(lawful("us_minnesota"), notices=lawful("us_minnesota").notices[1:]), PLACES["strictest"].uncollected
    )
    assert {one.code: one.is_firm for one in found}["no_collect"] is False


@given(
    code=st.sampled_from(sorted(PLACES)),
    after=st.integers(0, 500),
    lasted=st.integers(0, 200),
    then=st.integers(0, 800),
)
def test_a_dispute_never_brings_a_sale_nearer(code: str, after: int, lasted: int, then: int) -> None:
    case, rule = lawful(code), PLACES[code].uncollected
    opened = READY + timedelta(days=after)
    disputes = (Dispute(opened, opened + timedelta(days=lasted)),)
    day = READY + timedelta(days=then)
    notice = last_sale(case)
    assert notice is not None
    assert may_sell_from(notice, disputes, day, rule) >= may_sell_from(notice, (), day, rule)
    free = {one.code for one in against_sale(replace(case, day=day), rule)}
    assert free <= {one.code for one in against_sale(replace(case, day=day, disputes=disputes), rule)}
