"""The rules of places: each cited, the strictest really is, a shop may only tighten. Sources: the citation of each rule."""

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.jurisdictions import CHECK, PLACES, STRICTEST, TooLoose, effective, place, tightened_by
from shop.jurisdictions.loading import FOLDER, PlaceError, read_place
from shop.jurisdictions.rules import Rules

OTHERS = [rules for code, rules in PLACES.items() if code != STRICTEST]
RULES = [(rules, title, rule) for rules in PLACES.values() for title, rule in rules.all]
PARTS_ORDER = ("unsaid", "asked", "returned")
NO_FIGURE = 10**6


def text_of(code: str) -> str:
    return Path(FOLDER / f"{code}.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("rules", "title", "rule"), RULES, ids=lambda part: part if isinstance(part, str) else getattr(part, "code", "")
)
def test_every_rule_has_a_citation_its_origin_and_the_word_to_check_it(rules: Rules, title: str, rule: Any) -> None:
    source = rule.source
    assert source.citation
    assert source.text.endswith(".")
    assert source.note.endswith(CHECK)
    assert (source.origin == "memory") == source.note.startswith("from memory")
    assert (source.origin == "read") == source.read_at.startswith("http")


@pytest.mark.parametrize("other", OTHERS, ids=lambda rules: rules.code)
def test_the_strictest_is_at_least_as_strict_as_every_place(other: Rules) -> None:
    strictest = PLACES[STRICTEST]
    most = NO_FIGURE if other.overrun.allowance_bp is None else other.overrun.allowance_bp
    assert strictest.overrun.allowance_bp is not None
    assert strictest.overrun.allowance_bp <= most
    assert set(strictest.consent.codes) >= set(other.consent.codes)
    assert set(strictest.estimate.codes) >= set(other.estimate.codes)
    assert strictest.invoice_codes >= other.invoice_codes
    assert PARTS_ORDER.index(strictest.parts_return.way) >= PARTS_ORDER.index(other.parts_return.way)
    assert strictest.retention.years >= other.retention.years
    assert strictest.cancellation.days >= other.cancellation.days
    ours, theirs = strictest.uncollected, other.uncollected
    assert (ours.wait_days >= theirs.wait_days, ours.notice_days >= theirs.notice_days) == (True, True)
    assert (set(ours.kinds) >= set(theirs.kinds), set(ours.sent_by) >= set(theirs.sent_by)) == (True, True)
    assert ours.disputed_stops >= theirs.disputed_stops
    assert set(ours.letter.codes) >= set(theirs.letter.codes)
    assert set(ours.unreached.codes) >= set(theirs.unreached.codes)
    assert (ours.sale.way == "auction", ours.sale.published_days >= theirs.sale.published_days) == (True, True)
    assert (ours.surplus.days or NO_FIGURE) <= (theirs.surplus.days or NO_FIGURE)
    assert strictest.tax.separate >= other.tax.separate
    assert (strictest.guarantee.days or 0) >= (other.guarantee.days or 0)
    assert (strictest.guarantee.days_of_parts or 0) >= (other.guarantee.days_of_parts or 0)


def test_the_strictest_is_no_stricter_than_some_place_has_it() -> None:
    strictest = PLACES[STRICTEST]
    assert set(strictest.consent.codes) == {code for other in OTHERS for code in other.consent.codes}
    assert set(strictest.estimate.codes) == {code for other in OTHERS for code in other.estimate.codes}
    assert strictest.invoice_codes == frozenset(code for other in OTHERS for code in other.invoice_codes)
    assert strictest.retention.years == max(other.retention.years for other in OTHERS)
    assert strictest.uncollected.wait_days == max(other.uncollected.wait_days for other in OTHERS)
    assert strictest.uncollected.notice_days == max(other.uncollected.notice_days for other in OTHERS)
    assert strictest.cancellation.days == max(other.cancellation.days for other in OTHERS)
    assert strictest.guarantee.days == max(other.guarantee.days or 0 for other in OTHERS)
    assert strictest.guarantee.days_of_parts == max(other.guarantee.days_of_parts or 0 for other in OTHERS)


@pytest.mark.parametrize(
    ("code", "figure"),
    [
        ("us_california", 0),  # 16 CCR 2722(a), as read at regulations.justia.com
        ("us_minnesota", 1000),  # Minnesota Statutes 325F.58 subdivision 6: 110 per cent
        ("gb", None),  # Consumer Rights Act 2015, section 51: a reasonable price
        ("de", None),  # BGB § 649: no percentage
    ],
)
def test_the_allowance_is_the_one_that_the_text_names(code: str, figure: int | None) -> None:
    assert PLACES[code].overrun.allowance_bp == figure


@pytest.mark.parametrize(
    ("code", "work", "parts"),
    [
        ("us_new_york_city", 30, 90),  # 6 RCNY 2-260, as read at codelibrary.amlegal.com
        ("de", 730, 730),  # BGB § 634a Abs. 1 Nr. 1: two years for work on a thing
        ("gb", None, None),  # Consumer Rights Act 2015, sections 49 and 54 to 56: no time is named
        ("us_minnesota", None, None),  # Minnesota Statutes 325F.63: remedies on top of the common law, no time
    ],
)
def test_the_least_days_for_work_and_parts_are_those_that_the_text_names(code: str, work: int | None, parts: int | None) -> None:
    assert (PLACES[code].guarantee.days, PLACES[code].guarantee.days_of_parts) == (work, parts)


def test_a_rule_from_memory_never_refuses() -> None:
    assert [
        block for rules in PLACES.values() for block in rules.invoice if block.refuse and block.source.origin == "memory"
    ] == []


def test_an_unknown_place_is_the_strictest_of_all() -> None:
    assert place("atlantis") is PLACES[STRICTEST]


@pytest.mark.parametrize(
    ("before", "after", "complaint"),
    [
        ('citation = "BGB § 649, § 632 Abs. 3"\n', "", "overrun has no “citation”"),
        ('way = "tell_at_once"', 'way = "haggle"', "unknown haggle"),
        ('codes = ["who", "day", "how"]', 'codes = ["who", "shoe_size"]', "unknown shoe_size"),
        ("years = 10", "years = -1", "no whole number"),
        ("[cancellation]", "[cancelled]", "has no cancellation"),
        ('origin = "memory"\n\n[retention]', 'origin = "hearsay"\n\n[retention]', "origin is “hearsay”"),
        ("days = 14", "days = 14\nhours = 3", "unknown ['hours']"),
        ("days = 730", "days = -730", "no whole number"),
        ("days = 730", "part_days = 730", "“part_days” stands beside “days”, never alone"),
    ],
)
def test_a_file_that_says_too_little_or_something_unknown_is_refused(before: str, after: str, complaint: str) -> None:
    text = text_of("de")
    assert before in text
    with pytest.raises(PlaceError) as refused:
        read_place("de", text.replace(before, after))
    assert complaint in str(refused.value)


@pytest.mark.parametrize(
    ("code", "wished", "key"),
    [
        ("us_minnesota", {"allowance_bp": 1500}, "allowance_bp"),
        ("us_california", {"retention_years": 2}, "retention_years"),
        ("gb", {"notice_days": 30}, "notice_days"),
        ("us_california", {"wait_days": 5}, "wait_days"),
    ],
)
def test_loosening_is_refused_in_words(code: str, wished: dict[str, int], key: str) -> None:
    with pytest.raises(TooLoose) as refused:
        tightened_by(code, wished)
    assert refused.value.key == key
    assert PLACES[code].name in str(refused.value)


WISHES = st.fixed_dictionaries(
    {},
    optional={
        "allowance_bp": st.integers(-5, 5000),
        "retention_years": st.integers(-5, 50),
        "wait_days": st.integers(-5, 400),
        "notice_days": st.integers(-5, 400),
        "consent": st.lists(st.sampled_from(["own_words", "number_called", "nonsense"])),
    },
)


@given(code=st.sampled_from(sorted(PLACES)), kept=WISHES)
def test_whatever_a_profile_keeps_its_rules_are_never_looser_than_the_place(code: str, kept: dict[str, Any]) -> None:
    own, law = effective(code, kept), PLACES[code]
    assert own.allowed_bp(5000) <= law.allowed_bp(5000)
    assert own.retention.years >= law.retention.years
    assert own.uncollected.wait_days >= law.uncollected.wait_days
    assert own.uncollected.notice_days >= law.uncollected.notice_days
    assert set(own.consent.codes) >= set(law.consent.codes)
