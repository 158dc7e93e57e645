"""The owner's pages: who may open them; benches, the markup ladder, flat tasks."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.pricing import DEFAULT_LADDER
from jobs.models import FlatTask, Stage
from shop.models import Bench, MarkupStep, Staff
from shop.profile import bench_seen, ladder_seen
from shop.views.house import _task_seen, examples
from tests.builders import a_bench, a_flat_task, a_job, a_profile
from tests.inventory.builders import errors_of, once, post, texts

pytestmark = pytest.mark.django_db
PAGES = ["owner", "profile", "staff", "staff_new", "benches", "markup", "flat_tasks"]
CARDS = ["staff_change", "staff_password", "bench_change", "flat_task_change"]


@pytest.fixture(autouse=True)
def shop() -> None:
    a_profile()


def addresses(owner: Staff) -> list[str]:
    pks = dict(zip(CARDS, (owner.pk, owner.pk, a_bench().pk, a_flat_task().pk), strict=True))
    return [reverse(f"shop:{name}") for name in PAGES] + [reverse(f"shop:{name}", args=[pk]) for name, pk in pks.items()]


def test_the_owner_opens_every_page_of_the_owner(owner: Staff, owner_client: Client) -> None:
    assert {url: owner_client.get(url).status_code for url in addresses(owner)} == dict.fromkeys(addresses(owner), 200)


def test_nobody_else_does(owner: Staff, counter_client: Client, colleague_client: Client, stranger_client: Client) -> None:
    for url in addresses(owner):
        assert counter_client.get(url).status_code == 403
        assert colleague_client.post(url).status_code == 403
        assert stranger_client.get(url)["Location"].startswith(reverse("login"))


def test_the_first_page_says_where_the_books_are_kept(owner_client: Client) -> None:
    page = texts(owner_client.get(reverse("shop:owner")))
    assert "synchronous FULL" in page or "PostgreSQL" in page


def test_a_bench_is_added_once_and_its_name_is_its_own(owner_client: Client) -> None:
    form = {"once": once(), "name": "By the window", "order": "2"}
    for _ in range(2):
        assert owner_client.post(reverse("shop:benches"), form).status_code == 302
    answer = post(owner_client, "shop:benches", name="by the WINDOW", order="3")
    assert errors_of(answer)["name"] == ["There is a bench called by the WINDOW already."]
    assert Bench.objects.count() == 1


def bench_form(bench: Bench, **typed: Any) -> dict[str, Any]:
    return {"name": bench.name, "order": bench.order, "in_use": "on", "seen": bench_seen(bench), **typed}


def test_a_bench_is_named_and_placed_anew_and_the_second_editor_is_told(owner_client: Client) -> None:
    bench = a_bench()
    form = bench_form(bench, name="Long bench", order="5")
    assert post(owner_client, "shop:bench_change", bench.pk, **form).status_code == 302
    answer = post(owner_client, "shop:bench_change", bench.pk, **{**form, "name": "Short bench"})
    assert errors_of(answer)["__all__"] == ["Somebody else changed this bench since you opened it. Compare, then send again."]
    bench.refresh_from_db()
    assert (bench.name, bench.order) == ("Long bench", 5)


def test_only_an_empty_bench_goes_out_of_use(owner_client: Client) -> None:
    bench, job = a_bench(), a_job(Stage.TAKEN_IN)
    job.bench = bench
    job.save()
    form = bench_form(bench)
    del form["in_use"]
    answer = post(owner_client, "shop:bench_change", bench.pk, **form)
    assert errors_of(answer)["in_use"] == [f"Job {job.number} stands on this bench. Move it to another place first."]
    bench.refresh_from_db()
    assert bench.in_use
    job.bench = None
    job.save()
    assert post(owner_client, "shop:bench_change", bench.pk, **form).status_code == 302
    bench.refresh_from_db()
    assert not bench.in_use


def rungs(*pairs: tuple[str, str], **typed: Any) -> dict[str, Any]:
    fields = {f"{name}_{n}": text for n, pair in enumerate(pairs) for name, text in zip(("up_to", "factor"), pair, strict=True)}
    return {"seen": ladder_seen(), **fields, **typed}


def ladder_of_the_shop() -> list[tuple[int, int]]:
    return list(MarkupStep.objects.values_list("cost_up_to_minor", "factor_percent"))


def test_the_ladder_is_saved_in_order_and_an_empty_rung_goes(owner_client: Client) -> None:
    form = rungs(("10", "180"), ("1.00", "300"), ("", ""))
    assert post(owner_client, "shop:markup", **form).status_code == 302
    assert ladder_of_the_shop() == [(100, 300), (1000, 180)]
    assert post(owner_client, "shop:markup", **rungs(("", ""), ("", ""))).status_code == 302
    assert ladder_of_the_shop() == []


@pytest.mark.parametrize(
    ("pairs", "field", "text"),
    [
        ([("1.00", "")], "factor_0", "A rung needs both its cost and its percentage; empty both to take it out."),
        ([("", "200")], "up_to_0", "A rung needs both its cost and its percentage; empty both to take it out."),
        ([("1.00", "99")], "factor_0", "Ensure this value is greater than or equal to 100."),
        ([("1.00", "2.5")], "factor_0", "Enter a whole number."),
        ([("-1", "200")], "up_to_0", "A sum can't be below zero here."),
        ([("1.00", "200"), ("1", "300")], "__all__", "Two rungs end at the same cost. Take one of them out."),
    ],
)
def test_a_bad_ladder_is_refused(pairs: list[tuple[str, str]], field: str, text: str, owner_client: Client) -> None:
    answer = post(owner_client, "shop:markup", **rungs(*pairs))
    assert answer.status_code == 422
    assert errors_of(answer)[field] == [text]
    assert ladder_of_the_shop() == []


def test_two_who_change_the_ladder_at_once(owner_client: Client) -> None:
    seen = ladder_seen()
    assert post(owner_client, "shop:markup", **rungs(("1", "300"), seen=seen)).status_code == 302
    answer = post(owner_client, "shop:markup", **rungs(("1", "250"), seen=seen))
    assert errors_of(answer)["__all__"] == ["Somebody else changed the ladder since you opened it. Compare, then send again."]
    assert ladder_of_the_shop() == [(100, 300)]


def test_the_worked_examples_show_both_sides_of_a_rung() -> None:
    shown = {one.cost_minor: (one.percent, one.price_minor) for one in examples(DEFAULT_LADDER, 100)}
    # 0.50 x 300 % and 0.51 x 250 %: the dip that the page warns of
    assert shown[50] == (300, 150)
    assert shown[51] == (250, 128)
    assert shown[20000] == (130, 26000)


def test_a_flat_task_is_written_down_changed_and_taken_out_of_use(owner_client: Client) -> None:
    assert post(owner_client, "shop:flat_tasks", name="New cord", step="repair", price="35").status_code == 302
    task = FlatTask.objects.get()
    form = {"name": "New cord and plug", "step": "repair", "price": "38.50", "seen": _task_seen(task)}
    assert post(owner_client, "shop:flat_task_change", task.pk, **form).status_code == 302
    stale = post(owner_client, "shop:flat_task_change", task.pk, **form)
    assert errors_of(stale)["__all__"] == ["Somebody else changed this task since you opened it. Compare, then send again."]
    task.refresh_from_db()
    assert (task.name, task.price_minor, task.in_use) == ("New cord and plug", 3850, False)


@pytest.mark.parametrize(
    ("typed", "field", "text"),
    [
        ({"name": ""}, "name", "This field is required."),
        ({"name": "align THE if strip"}, "name", "There is a task called align THE if strip already."),
        ({"price": "-3"}, "price", "A sum can't be below zero here."),
        ({"step": "polish"}, "step", "Select a valid choice. polish is not one of the available choices."),
    ],
)
def test_a_bad_flat_task_is_refused(typed: dict[str, str], field: str, text: str, owner_client: Client) -> None:
    a_flat_task()
    answer = post(owner_client, "shop:flat_tasks", **{"name": "New cord", "step": "repair", "price": "35", **typed})
    assert answer.status_code == 422
    assert errors_of(answer)[field] == [text]
    assert FlatTask.objects.count() == 1
