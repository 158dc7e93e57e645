"""Pages over all years begin with the newest bills and say so; a period is read by its days, not out of all years."""

from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from billing.models import Invoice
from billing.queries.newest import first_shown
from billing.queries.periods import Period
from billing.queries.profit import profits
from billing.queries.tax_report import tax_report
from jobs.models import Stage
from shop.clock import now
from shop.models import Profile
from tests.builders import a_job
from tests.plans import plans_of

pytestmark = pytest.mark.django_db
OLD = now() - timedelta(days=900)


def terms() -> Profile:
    found = Profile.current()
    assert found is not None
    return found


def test_where_no_day_is_asked_for_the_newest_bills_are_shown_and_the_page_says_since_when(
    owner_client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    a_job(Stage.HANDED_OVER, at=OLD)
    new = a_job(Stage.HANDED_OVER)
    assert first_shown() is None
    monkeypatch.setattr("billing.queries.newest.MOST_BILLS", 1)
    assert first_shown() == Invoice.objects.get(job=new).issued_on
    assert first_shown(date(2020, 1, 1)) == date(2020, 1, 1)
    for name in ("profit", "profit_groups", "missed"):
        page = owner_client.get(reverse(f"billing:{name}"))
        assert "The newest bills, since" in page.content.decode()
    far = owner_client.get(reverse("billing:missed"), {"first": "2001-01-01"}).content.decode()
    assert "The newest bills, since" not in far


def test_a_period_of_profit_is_the_whole_narrowed_to_it() -> None:
    a_job(Stage.HANDED_OVER, at=OLD)
    a_job(Stage.HANDED_OVER)
    day = Invoice.objects.earliest("issued_on").issued_on
    whole = [one for one in profits(terms()).jobs if one.first_billed_on == day]
    assert len(whole) == 1
    assert profits(terms(), first=day, last=day).jobs == whole
    assert profits(terms(), text=whole[0].job.number).jobs == whole


@pytest.mark.looks
def test_a_quarter_is_found_by_its_days() -> None:
    plans = plans_of(lambda: tax_report(Period(date(2031, 1, 1), date(2031, 3, 31))))
    assert any("papers_by_day" in line for line in plans), plans
