"""The benches in Chromium: a set is moved by keys on its tag, and undone; the keys do nothing anywhere else."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from jobs.models import Job
from shop.models import Bench, Staff
from tests.builders import a_bench, a_job

# What the page's scripts do, whose acts other tests send to either database.
pytestmark = [pytest.mark.looks, pytest.mark.django_db(transaction=True)]


def bench_of(job: Job) -> Bench | None:
    return Job.objects.select_related("bench").get(pk=job.pk).bench


def test_keys_on_a_tag_move_its_set_say_what_it_waits_for_and_undo(
    transactional_db: None, desktop: Page, sign_in: Callable, colleague: Staff
) -> None:
    first, second = a_bench("Bench 1"), a_bench("Bench 2")
    job, other = a_job(), a_job()
    page = sign_in(desktop, colleague)
    page.goto("/jobs/benches/")
    keys, tag = page.keyboard, page.locator(f"#job-{job.pk}")
    expect(page.get_by_text("with the focus on a tag")).to_be_visible()
    keys.press("2")  # with the focus on the page: nothing
    tag.focus()
    keys.press("ArrowDown")
    expect(page.locator(f"#job-{other.pk}")).to_be_focused()
    keys.press("ArrowUp")
    keys.press("2")
    expect(page.get_by_text(f"Job {job.number} stands at Bench 2 now.")).to_be_visible()
    expect(tag).to_be_focused()
    assert bench_of(job) == second
    assert bench_of(other) is None
    keys.press("Shift+ArrowUp")
    expect(page.get_by_text(f"Job {job.number} stands at Bench 1 now.")).to_be_visible()
    assert bench_of(job) == first
    expect(tag).to_be_focused()
    keys.press("u")
    expect(page.get_by_text(f"Job {job.number} stands at Bench 2 now.")).to_be_visible()
    assert bench_of(job) == second
    expect(tag).to_be_focused()
    keys.press("w")
    expect(page.locator(f"#wait-{job.pk}")).to_be_focused()
    keys.press("0")  # in a field a figure is a figure
    assert bench_of(job) == second
