"""Every way a shop prices work: by the hour, once a job, for each valve or capacitor, for sets of a class."""

import uuid
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from billing.queries import bill_lines
from jobs.models import EstimateLine, FlatTask, Job, LabourEntry, PricedBy, SetClass
from jobs.queries.counted import count_for, counts_of, tasks_for
from jobs.services import estimates
from jobs.services.estimates import TypedLine
from jobs.services.labour import Work, log_work
from jobs.verification import labour as looked_labour
from shop.acts import Refused
from shop.clock import now, today
from shop.models import Profile
from tests.builders import a_customer, a_flat_task, a_job, a_model, a_staff
from tests.jobs.sent import sent_form

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("still_clock")]


def a_task(name: str = "Test a valve", price: int = 300, by: str = PricedBy.VALVE, set_class: SetClass | None = None) -> FlatTask:
    return FlatTask.objects.create(name=name, price_minor=price, priced_by=by, set_class=set_class)


def drafted(job: Job, task: FlatTask, count: int | None = None, text: str = "") -> EstimateLine:
    draft = estimates.draft(job, person=a_staff(), at=now())
    return estimates.add_line(draft, TypedLine("flat", text, task=task, count=count))


def once() -> str:
    return str(uuid.uuid4())


# The list that the builders give a set: three capacitors, one resistor, one valve.


def test_valves_and_capacitors_are_counted_from_the_sets_own_list() -> None:
    job = a_job("inspecting")
    assert counts_of(job) == {"valve": 1, "capacitor": 3}


def test_a_set_without_positions_is_counted_by_its_model() -> None:
    job = a_job()
    job.positions.all().delete()  # type: ignore[attr-defined]
    assert counts_of(job) == {"valve": 1, "capacitor": 3}


@pytest.mark.parametrize(("by", "count"), [(PricedBy.JOB, 1), (PricedBy.VALVE, 1), (PricedBy.CAPACITOR, 3)])
def test_a_price_is_asked_as_often_as_the_list_says(by: str, count: int) -> None:
    job, task = a_job("inspecting"), a_task(by=by)
    line = drafted(job, task)
    assert (line.count, line.unit_minor, line.low_minor, line.high_minor) == (count, 300, 300 * count, 300 * count)
    assert count_for(job, task) == count


def test_a_typed_count_goes_before_the_list() -> None:
    assert drafted(a_job("inspecting"), a_task(by=PricedBy.CAPACITOR), count=12).high_minor == 3_600


@pytest.mark.parametrize(
    ("by", "count", "said"),
    [
        (PricedBy.JOB, 2, "priced once a job"),
        (PricedBy.VALVE, 0, "names no valve. Type how many"),
        (PricedBy.CAPACITOR, 1000, "At most 999"),
    ],
)
def test_a_count_that_cannot_be_is_refused(by: str, count: int, said: str) -> None:
    with pytest.raises(Refused, match=said) as refused:
        drafted(a_job("inspecting"), a_task(by=by), count=count)
    assert refused.value.field == "count"


def test_a_set_whose_list_names_none_asks_for_the_count() -> None:
    model = a_model("Lark 2", rows=())
    job = a_job("inspecting", model=model, with_fit=False)
    with pytest.raises(Refused, match="The list of this set names no valve"):
        drafted(job, a_task())
    with pytest.raises(Refused, match="names no valve"):
        log_work(job, Work(a_staff(), "repair", today(), task=a_task("Another"), count=0), person=a_staff(), at=now())


def test_the_labour_log_charges_the_price_as_often_as_counted_and_the_bill_says_so() -> None:
    job = a_job("repairing")
    work = Work(a_staff(), "repair", today(), task=a_task(by=PricedBy.CAPACITOR), count=7)
    entry = log_work(job, work, person=a_staff(), at=now())
    assert (entry.task_count, entry.flat_minor, entry.amount_minor) == (7, 2_100, 2_100)
    (line,) = [one for one in bill_lines(job, Profile.objects.get()) if one.labour == entry]
    assert (line.text, line.amount_minor, line.count * line.unit_minor) == ("7 × Test a valve", 2_100, 2_100)
    assert looked_labour().differences == ()


def test_verification_finds_a_sum_that_is_no_multiple_of_one_price() -> None:
    job = a_job("repairing")
    LabourEntry.objects.create(
        job=job,
        worker=a_staff(),
        step="repair",
        worked_on=today(),
        task=a_task(),
        task_count=2,
        flat_minor=301,
        amount_minor=301,
        at=now(),
        person=a_staff(),
    )
    assert "isn't 2 times one price" in str(looked_labour().differences)


# Classes of sets


def test_the_tasks_of_a_sets_class_come_first_and_those_of_another_are_not_offered() -> None:
    table, console = SetClass.objects.create(name="Table set"), SetClass.objects.create(name="Console")
    job = a_job("inspecting")
    job.radio.model.set_class = table
    job.radio.model.save()
    own = a_task("Overhaul, table set", 9_000, PricedBy.JOB, table)
    other = a_task("Overhaul, console", 15_000, PricedBy.JOB, console)
    common = a_flat_task()
    assert list(tasks_for(job)) == [own, common]
    assert drafted(job, own).high_minor == 9_000
    with pytest.raises(Refused, match="priced for sets of the class “Console”") as refused:
        drafted(job, other)
    assert refused.value.field == "task"


def test_a_set_without_a_class_is_offered_the_tasks_for_any_set() -> None:
    a_task("Overhaul, console", 15_000, PricedBy.JOB, SetClass.objects.create(name="Console"))
    assert list(tasks_for(a_job("inspecting"))) == list(FlatTask.objects.filter(set_class=None))


def test_a_correction_keeps_a_task_that_went_out_of_use() -> None:
    job, task = a_job("repairing"), a_task(by=PricedBy.CAPACITOR)
    entry = log_work(job, Work(a_staff(), "repair", today(), task=task, count=3), person=a_staff(), at=now())
    FlatTask.objects.filter(pk=task.pk).update(in_use=False, set_class=SetClass.objects.create(name="Console"))
    task.refresh_from_db()
    fewer = Work(a_staff(), "repair", today(), task=task, count=2)
    assert log_work(job, fewer, person=a_staff(), at=now(), corrects=entry).amount_minor == 600


# Pages


def line_form(client: Client, job: Job) -> dict[str, str]:
    return sent_form(client.get(reverse("jobs:estimate", args=[job.pk])), "task-task")


def test_the_estimate_offers_the_count_and_keeps_it_changeable(counter_client: Client) -> None:
    job, task = a_job("inspecting"), a_task(by=PricedBy.CAPACITOR)
    draft = estimates.draft(job, person=a_staff(), at=now())
    page = counter_client.get(reverse("jobs:estimate", args=[job.pk])).content.decode()
    assert "The list of this set has 1 valve and 3 capacitors" in page
    assert "Test a valve, £3.00 for each capacitor" in page
    form = {**line_form(counter_client, job), "task-task": str(task.pk)}
    assert counter_client.post(reverse("jobs:estimate_line_add", args=[draft.pk]), form).status_code == 302
    line = draft.lines.get(from_log=False)  # type: ignore[attr-defined]
    assert "3 × £3.00" in counter_client.get(reverse("jobs:estimate", args=[job.pk])).content.decode()
    change = reverse("jobs:estimate_line_change", args=[line.pk])
    typed = sent_form(counter_client.get(change), "task-count")
    assert typed["task-count"] == "3"
    assert counter_client.post(change, {**typed, "task-count": "5"}).status_code == 302
    line.refresh_from_db()
    assert (line.count, line.high_minor) == (5, 1_500)


@pytest.mark.parametrize("count", ["-1", "0", "1.5", "many", "1000"])
def test_an_odd_count_is_refused_on_both_pages(counter_client: Client, colleague_client: Client, count: str) -> None:
    job, task = a_job("repairing"), a_task(by=PricedBy.CAPACITOR)
    draft = estimates.draft(job, person=a_staff(), at=now())
    form = {**line_form(counter_client, job), "task-task": str(task.pk), "task-count": count}
    answer = counter_client.post(reverse("jobs:estimate_line_add", args=[draft.pk]), form)
    assert answer.status_code == 422
    assert f'value="{count}"' in answer.content.decode()
    logged = sent_form(colleague_client.get(reverse("jobs:labour", args=[job.pk])), "count")
    answer = colleague_client.post(reverse("jobs:labour_task", args=[job.pk]), {**logged, "task": str(task.pk), "count": count})
    assert answer.status_code == 422
    assert not LabourEntry.objects.filter(task=task).exists()


def test_the_bench_logs_a_task_by_the_list_and_corrects_its_count(colleague_client: Client) -> None:
    job, task = a_job("repairing"), a_task(by=PricedBy.CAPACITOR)
    page = reverse("jobs:labour", args=[job.pk])
    form = {**sent_form(colleague_client.get(page), "count"), "task": str(task.pk)}
    for _ in range(2):
        assert colleague_client.post(reverse("jobs:labour_task", args=[job.pk]), form).status_code == 302
    entry = LabourEntry.objects.get(task=task)
    assert (entry.task_count, entry.amount_minor) == (3, 900)
    assert "Test a valve, 3 ×" in colleague_client.get(page).content.decode()
    correct = reverse("jobs:labour_correct", args=[entry.pk])
    typed = sent_form(colleague_client.get(correct), "count")
    assert typed["count"] == "3"
    assert colleague_client.post(correct, {**typed, "count": "2"}).status_code == 302
    assert LabourEntry.objects.get(corrects=entry).amount_minor == 600


def a_typed_task(**typed: Any) -> dict[str, Any]:
    return {
        "once": once(),
        "name": "Recap",
        "step": "repair",
        "price": "4.00",
        "priced_by": "capacitor",
        "set_class": "",
        **typed,
    }


def test_the_owner_prices_a_task_by_capacitor_for_a_class(owner_client: Client) -> None:
    console = SetClass.objects.create(name="Console")
    a_job()
    assert owner_client.post(reverse("shop:flat_tasks"), a_typed_task(set_class=str(console.pk))).status_code == 302
    task = FlatTask.objects.get(name="Recap")
    assert (task.priced_by, task.set_class, task.price_minor) == ("capacitor", console, 400)
    page = owner_client.get(reverse("shop:flat_tasks")).content.decode()
    assert "£4.00 for each capacitor" in page
    assert "Console" in page
    assert owner_client.post(reverse("shop:flat_tasks"), a_typed_task(name="Other", priced_by="acre")).status_code == 422
    change = reverse("shop:flat_task_change", args=[task.pk])
    mine, theirs = (sent_form(owner_client.get(change), "priced_by") for _ in range(2))
    assert owner_client.post(change, {**theirs, "priced_by": "valve"}).status_code == 302
    answer = owner_client.post(change, {**mine, "price": "5"})
    assert answer.status_code == 422
    assert "Somebody else changed this task since you opened it." in answer.content.decode()


def test_the_owner_names_classes(owner_client: Client, colleague_client: Client, stranger_client: Client) -> None:
    a_job()
    page = reverse("shop:set_classes")
    assert "No class yet." in owner_client.get(page).content.decode()
    form = {"once": once(), "name": "Console", "order": "1"}
    for _ in range(2):
        assert owner_client.post(page, form).status_code == 302
    (console,) = SetClass.objects.all()
    answer = owner_client.post(page, {"once": once(), "name": "console", "order": "2"})
    assert answer.status_code == 422
    assert "There is a class called console already." in answer.content.decode()
    assert owner_client.post(page, {"once": once(), "name": "", "order": "x"}).status_code == 422
    change = reverse("shop:set_class_change", args=[console.pk])
    mine, theirs = (sent_form(owner_client.get(change), "order") for _ in range(2))
    assert owner_client.post(change, {**theirs, "name": "Floor console"}).status_code == 302
    answer = owner_client.post(change, {**mine, "name": "Kept as typed"})
    assert answer.status_code == 422
    assert "Kept as typed" in answer.content.decode()
    for address in (page, change):
        assert colleague_client.get(address).status_code == 403
        assert stranger_client.get(address).headers["Location"].startswith(reverse("login"))


def test_a_model_has_a_class_and_keeps_one_out_of_use(colleague_client: Client) -> None:
    model, console = a_model(), SetClass.objects.create(name="Console")
    a_customer()
    change = reverse("jobs:model_change", args=[model.pk])
    assert (
        colleague_client.post(
            change, {**sent_form(colleague_client.get(change), "set_class"), "set_class": str(console.pk)}
        ).status_code
        == 302
    )
    SetClass.objects.update(in_use=False)
    again = sent_form(colleague_client.get(change), "set_class")
    assert again["set_class"] == str(console.pk)
    assert colleague_client.post(change, again).status_code == 302
    model.refresh_from_db()
    assert model.set_class == console
    assert "Console" in colleague_client.get(reverse("jobs:model", args=[model.pk])).content.decode()
