"""The facts that a paper must carry, each on its own paper."""

from dataclasses import replace
from datetime import date

from billing.documents import credit_note, invoice
from jobs.documents import claim_check, estimate, safety_sheet, summary, tag, warranty
from tests.paper import samples
from tests.paper.papers import reader, text_of


def test_a_claim_check_carries_what_the_law_of_the_trade_asks_for() -> None:
    """16 CCR 2721 (California): shop name and registration, date, model and serial, the fault as told, name and address of the
    customer, receiver's signature or number, the estimate notice."""
    data = samples.claim_check()
    text = text_of(claim_check.draw(data))
    for fact in (
        data.letterhead.shop_name,
        data.letterhead.registration,
        "4 March 2031, 12:05",
        "Merrow Nightjar 53",
        "NJ-118204",
        data.fault,
        data.customer.name,
        "Flat 3, The Old Net Loft",
        "Ines Tolland",
        "written estimate before any repair",
        "drill the chassis or cabinet ✗ no",
        "add a fuse ✓ yes",
        "4 knobs",
        "wanted back",
        "11 April 2031",
        "£35.00",
        "£40.00",
    ):
        assert fact in text


def test_an_invoice_carries_what_the_law_of_the_trade_asks_for() -> None:
    """16 CCR 2723 (California): make, model, serial, the fault as told, each part with its class, each labour item."""
    data = samples.invoice()
    text = text_of(invoice.draw(data))
    for fact in (
        data.set_line,
        data.fault,
        "C1 0.01 µF 630 V film (1) new 1",
        "V5 UY41, tested used 2",
        "4 h 30 min",
        "fixed price",
    ):
        assert fact in text
    assert "V1 UCH42 used 1 from our own stores" in text
    assert "Deposit in cash, 4 Mar 2031 -£40.00" in text
    assert data.consent in text


def test_a_credit_note_names_its_invoice() -> None:
    assert "R-2031-0017 of 9 April 2031" in text_of(credit_note.draw(samples.credit_note()))


def test_an_estimate_names_the_most_it_can_cost_and_the_way_to_agree() -> None:
    pdf = estimate.draw(samples.estimate())
    text = text_of(pdf)
    assert "We will not charge more than £430.98 (the total plus 10 %) without a newer consent of yours." in text
    assert samples.AGREE_URL in text
    assert "It takes the place of version 1." in text
    links = {str(note.get_object()["/A"]["/URI"]) for page in reader(pdf).pages for note in page.get("/Annots", [])}
    assert links == {samples.AGREE_URL}


def test_a_firm_estimate_shows_one_sum_and_no_range() -> None:
    data = samples.estimate()
    firm = replace(data, total_high=data.total_low, lines=data.lines[:1], taxes=(), note="", ceiling=data.total_low)
    text = text_of(estimate.draw(firm))
    assert "Total £312.96" in text
    assert "–" not in text.split("Total")[1].split("The most")[0]


def test_a_summary_prints_overrides_with_both_people_and_their_reason() -> None:
    text = text_of(summary.draw(samples.summary()))
    for fact in ("C41", "no smaller one fits under the tag strip", "Tomos Ferrier second: Ines Tolland", "✗ leaky", "✓ passed"):
        assert fact in text


def test_a_summary_says_when_no_safety_check_was_made_or_the_set_is_unsafe() -> None:
    data = replace(samples.summary(), safety=None, returned_unsafe="Line cord cut off at the chassis.")
    text = text_of(summary.draw(data))
    assert "No electrical safety check is on record" in text
    assert "RETURNED UNSAFE, DISABLED. Line cord cut off at the chassis." in text


def test_a_warranty_tells_covered_lines_from_those_that_are_not() -> None:
    text = text_of(warranty.draw(samples.warranty()))
    assert "V1 UCH42, used, tested valves: 30 days 11 May 2031" in text
    assert "C40 47 nF Y2 supplied by the owner" in text


def test_a_failed_safety_sheet_says_so_and_warns() -> None:
    failed = replace(samples.SAFETY, passed=False, isolating_transformer=True)
    text = text_of(safety_sheet.draw(replace(samples.safety_sheet(), safety=failed)))
    assert "Result: FAILED." in text
    assert "Do not use this set." in text
    assert "yes, behind one" in text


def test_a_tag_warns_of_a_live_chassis_only_where_it_may_be() -> None:
    data = samples.tag()
    assert "LIVE CHASSIS POSSIBLE" in text_of(tag.draw(data))
    assert "LIVE CHASSIS" not in text_of(tag.draw(replace(data, transformerless=False)))
    assert "promised 11 Apr 2031" in text_of(tag.draw(data))
    assert "no day promised" in text_of(tag.draw(replace(data, promised_on=None)))


def test_days_are_written_by_the_shops_locale() -> None:
    data = samples.warranty()
    text = text_of(warranty.draw(replace(data, letterhead=replace(data.letterhead, locale="en_US"), starts_on=date(2031, 4, 11))))
    assert "April 11, 2031" in text
