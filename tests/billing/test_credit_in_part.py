"""Credit notes in part: exact to the smallest coin, and the job stays billed."""

import threading
import uuid
from decimal import Decimal

import pytest
from django.db import connections
from django.test import Client
from hypothesis import given, settings
from hypothesis import strategies as st

from billing.models import Invoice, InvoiceLine
from billing.papers import keepsake_facts
from billing.queries import account_of, bill_lines, frozen_totals, standing, with_account
from billing.queries.on_top import total_on_top
from billing.services import PartOf, credit, credit_part
from jobs.models import Job
from shop.acts import Refused, Stale
from shop.clock import now
from shop.models import Profile, TaxRounding
from shop.totals import Line, TaxKey, total
from tests.billing.histories import a_bill, boss, whole_lines
from tests.builders import a_staff, an_invoice

KEYS = (TaxKey("S", 2000), TaxKey("S", 700), TaxKey("S", 1925), TaxKey("Z", 0), TaxKey("E", 0))


@settings(max_examples=300, deadline=None)
@given(
    amounts=st.lists(st.tuples(st.integers(0, 5_000), st.sampled_from(KEYS)), min_size=1, max_size=8),
    cuts=st.lists(st.lists(st.integers(0, 3_000), min_size=8, max_size=8), max_size=5),
    include=st.booleans(),
    per_line=st.booleans(),
)
def test_notes_in_part_and_the_rest_add_up_to_the_invoice(amounts, cuts, include, per_line) -> None:
    """Whatever is taken in whatever order: net, tax of each rate and gross of all notes are the invoice's own."""
    terms = {"prices_include_tax": include, "round_per_line": per_line}
    lines = [_line(minor, key) for minor, key in amounts]
    whole = total(lines, **terms)
    left, taken, notes = [line.amount_minor for line in lines], [0] * len(lines), []
    for cut in [*cuts, [10**9] * 8]:
        now_taken = [min(part, rest) for part, rest in zip(cut, left, strict=False)]
        places = list(range(len(lines))) if cut[0] == 10**9 else [i for i, part in enumerate(now_taken) if part]
        others = [_line(taken[i], lines[i].tax) for i in range(len(lines)) if i not in places and taken[i]]
        note = total_on_top([_line(now_taken[i], lines[i].tax) for i in places], [taken[i] for i in places], others, **terms)
        assert all(net >= 0 for net in note.line_net_minor)
        assert sum(note.line_net_minor) == note.net_minor
        assert sum(one.taxable_minor for one in note.taxes) == note.net_minor
        for one in note.taxes:
            base = one.taxable_minor + one.tax_minor if include else one.taxable_minor
            rate = Decimal(one.tax.rate_bp) / (10_000 + one.tax.rate_bp if include else 10_000)
            assert one.tax_minor >= 0
            assert per_line or abs(one.tax_minor - base * rate) <= 1
        notes.append(note)
        for i in places:
            taken[i] += now_taken[i]
            left[i] -= now_taken[i]
    assert sum(one.net_minor for one in notes) == whole.net_minor
    assert sum(one.tax_minor for one in notes) == whole.tax_minor
    assert sum(one.gross_minor for one in notes) == whole.gross_minor
    for taxed in whole.taxes:
        found = [one for note in notes for one in note.taxes if one.tax == taxed.tax]
        assert sum(one.tax_minor for one in found) == taxed.tax_minor
        assert sum(one.taxable_minor for one in found) == taxed.taxable_minor


def _line(minor: int, key: TaxKey) -> Line:
    return Line(Decimal(1), Decimal(minor), key)


@pytest.mark.django_db
@pytest.mark.parametrize("include", [False, True])
@pytest.mark.parametrize("rounding", [TaxRounding.RATE, TaxRounding.LINE])
def test_the_rest_of_an_invoice_is_credited_exactly(include: bool, rounding: str) -> None:
    invoice = a_bill(prices_include_tax=include, tax_rounding=rounding, parts_tax_bp=1925, hour_rate_minor=4333)
    parts, labour = list(invoice.lines.filter(kind="part")), invoice.lines.get(kind="labour")
    notes = [
        credit_part(invoice, [PartOf(parts[0], 1), PartOf(labour, sum_minor=1_234)], "one too many", person=boss(), at=now()),
        credit_part(invoice, [PartOf(labour, sum_minor=333)], "an hour too long", person=boss(), at=now()),
        credit(invoice, "all wrong", person=boss(), at=now()),
    ]
    for name in ("net_minor", "tax_minor", "gross_minor"):
        assert sum(getattr(note, name) for note in notes) == getattr(invoice, name), name
    for note in notes:
        totals = frozen_totals(note, note.lines.all())
        assert (totals.net_minor, totals.tax_minor, totals.gross_minor) == (note.net_minor, note.tax_minor, note.gross_minor)
        assert list(totals.line_net_minor) == [line.net_minor for line in note.lines.all()]
    assert [note.whole for note in notes] == [False, False, True]
    assert notes[2].lines.count() == invoice.lines.count()


@pytest.mark.django_db
def test_the_job_stays_billed_and_the_part_on_its_one_line() -> None:
    invoice = a_bill()
    entry = invoice.lines.get(designator="C2").entry
    note = credit_part(invoice, whole_lines(invoice, 0), "goodwill", person=boss(), at=now())
    job = Job.objects.get(pk=invoice.job_id)
    assert job.billed
    assert bill_lines(job, Profile.objects.get()) == []
    assert [line.invoice for line in standing(InvoiceLine.objects.filter(entry=entry))] == [invoice]
    assert keepsake_facts(job)["invoice_number"] == invoice.number
    assert (note.gross_minor, account_of(invoice).due_minor) == (144, invoice.gross_minor - 144)
    assert with_account(Invoice.objects.filter(pk=invoice.pk)).get().due == invoice.gross_minor - 144  # type: ignore[attr-defined]
    with pytest.raises(Refused, match="All that was fitted and worked is on an invoice already"):
        an_invoice(job)


@pytest.mark.django_db
def test_the_rest_frees_the_log_and_everything_is_billed_anew() -> None:
    invoice = a_bill()
    credit_part(invoice, whole_lines(invoice, 0, 1), "goodwill", person=boss(), at=now())
    credit(invoice, "billed to the wrong person", person=boss(), at=now())
    again = an_invoice(Job.objects.get(pk=invoice.job_id))
    assert again.gross_minor == invoice.gross_minor
    assert keepsake_facts(again.job)["invoice_number"] == again.number
    assert account_of(invoice).due_minor == 0


@pytest.mark.django_db
def test_a_note_over_nothing_left_still_frees_the_log() -> None:
    invoice = a_bill()
    credit_part(invoice, whole_lines(invoice, 0, 1, 2), "all of it", person=boss(), at=now())
    note = credit(invoice, "and bill it anew", person=boss(), at=now())
    assert (note.gross_minor, Job.objects.get(pk=invoice.job_id).billed) == (0, False)


REFUSALS = [
    ("count", 3, "still stands for £1.20; £1.80 is more."),
    ("count", 0, "What is credited must be above nothing."),
    ("sum_minor", 121, "still stands for £1.20; £1.21 is more."),
    ("both", 1, "Type a count or a sum, and only one of them."),
]


@pytest.mark.django_db
@pytest.mark.parametrize(("how", "much", "told"), REFUSALS)
def test_never_more_than_the_line_still_stands_for(how: str, much: int, told: str) -> None:
    invoice = a_bill()
    line = invoice.lines.get(designator="C2")
    part = PartOf(line, much, much) if how == "both" else PartOf(line, **{how: much})
    with pytest.raises(Refused) as refused:
        credit_part(invoice, [part], "x", person=boss(), at=now())
    assert refused.value.message.endswith(told)
    assert not Invoice.objects.filter(kind="credit_note").exists()


@pytest.mark.django_db
def test_an_earlier_note_lowers_what_is_left() -> None:
    invoice = a_bill()
    line = invoice.lines.get(designator="C2")
    credit_part(invoice, [PartOf(line, count=1)], "one was old", person=boss(), at=now())
    with pytest.raises(Refused, match="still stands for £0.60; £1.20 is more"):
        credit_part(invoice, [PartOf(line, count=2)], "x", person=boss(), at=now())
    with pytest.raises(Refused, match="Nothing is credited yet"):
        credit_part(invoice, [], "x", person=boss(), at=now())
    with pytest.raises(Refused, match="Only the owner credits an invoice."):
        credit_part(invoice, [PartOf(line, count=1)], "x", person=a_staff(), at=now())
    with pytest.raises(Stale, match="was credited in part since you opened this"):
        credit_part(invoice, [PartOf(line, count=1)], "x", person=boss(), at=now(), seen=0)


@pytest.mark.django_db
def test_another_invoices_line_is_none_of_this_ones() -> None:
    one, other = a_bill(), a_bill()
    with pytest.raises(Refused, match="Only charged lines of this invoice can be credited."):
        credit_part(one, whole_lines(other, 0), "x", person=boss(), at=now())


@pytest.mark.django_db(transaction=True)
def test_two_owners_credit_one_line_at_the_same_moment() -> None:
    """Together they never take more than the line charges."""
    invoice, person = a_bill(), boss()
    line = invoice.lines.get(designator="C2")
    gate, answers = threading.Barrier(4), []

    def take() -> None:
        gate.wait()
        try:
            answers.append(credit_part(invoice, [PartOf(line, count=2)], "x", person=person, at=now()).gross_minor)
        except Refused as refused:
            answers.append(refused.message[-24:])
        finally:
            connections.close_all()

    threads = [threading.Thread(target=take) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answers, key=str) == [144, *["for £0.00; £1.20 is more."[-24:]] * 3]


def once() -> str:
    return str(uuid.uuid4())


@pytest.mark.django_db
def test_the_page_credits_a_count_and_a_sum_once(owner_client: Client) -> None:
    invoice = a_bill()
    address = f"/money/papers/{invoice.pk}/credit/part/"
    page = owner_client.get(address).content.decode()
    c2, r1, labour = invoice.lines.all()
    for text in ("2 at £0.60. Stands for £1.20.", f'name="count_{c2.pk}"', f'name="sum_{labour.pk}"'):
        assert text in page
    assert f'name="count_{r1.pk}"' not in page
    form = {"once": once(), "seen": 0, "reason": "one was old", f"count_{c2.pk}": "1", f"sum_{labour.pk}": "12.00"}
    for _ in range(2):
        assert owner_client.post(address, form).status_code == 302
    note = Invoice.objects.get(kind="credit_note")
    assert (note.whole, note.net_minor, note.tax_minor) == (False, 1_260, 252)
    shown = owner_client.get(f"/money/papers/{invoice.pk}/").content.decode()
    assert "Credited in part" in shown
    assert note.number in shown
    told = owner_client.get(f"/money/papers/{note.pk}/").content.decode()
    assert "Takes back a part of" in told
    assert "of £60.00" in owner_client.get(address).content.decode()


@pytest.mark.django_db
def test_two_editors_the_second_is_told_and_keeps_what_was_typed(owner_client: Client) -> None:
    invoice = a_bill()
    line = invoice.lines.get(designator="C2")
    credit_part(invoice, [PartOf(line, count=1)], "meanwhile", person=boss(), at=now())
    form = {"once": once(), "seen": 0, "reason": "as I saw it", f"count_{line.pk}": "1"}
    answer = owner_client.post(f"/money/papers/{invoice.pk}/credit/part/", form)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "was credited in part since you opened this" in page
    assert "as I saw it" in page
    assert Invoice.objects.filter(kind="credit_note").count() == 1


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("0.00", "What is credited must be above nothing."),
        ("1.21", "£1.21 is more."),
        ("abc", "read as a sum"),
        ("-1", "below zero"),
    ],
)
def test_bad_sums_are_refused_at_their_line(owner_client: Client, typed: str, told: str) -> None:
    invoice = a_bill()
    line = invoice.lines.get(designator="C2")
    form = {"once": once(), "seen": 0, "reason": "x", f"sum_{line.pk}": typed}
    answer = owner_client.post(f"/money/papers/{invoice.pk}/credit/part/", form)
    assert answer.status_code == 422
    assert told in answer.content.decode()
    assert f'value="{typed}"' in answer.content.decode()


@pytest.mark.django_db
def test_only_the_owner_comes_here(stranger_client: Client, counter_client: Client, colleague_client: Client) -> None:
    address = f"/money/papers/{a_bill().pk}/credit/part/"
    assert stranger_client.get(address).status_code == 302
    assert counter_client.get(address).status_code == colleague_client.post(address).status_code == 403


@pytest.mark.django_db
def test_a_credited_invoice_is_not_credited_in_part(owner_client: Client) -> None:
    invoice = a_bill()
    credit(invoice, "wrong", person=boss(), at=now())
    assert owner_client.get(f"/money/papers/{invoice.pk}/credit/part/").status_code == 409
