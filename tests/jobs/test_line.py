"""The line of the sheet: what it writes, what it refuses, the way back, and what a script gets."""

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from jobs.bench.line_letters import LETTERS
from jobs.models import Decision, Job, Stage, Verdict
from jobs.services import log
from jobs.services.called_for import CalledRow
from shop.models import Staff
from tests.builders import a_job, a_model, author, position_of
from tests.conftest import StillClock
from tests.jobs.at_bench import token
from tests.jobs.sent import sent_form

SCRIPT = {"HX-Request": "true"}


def sheet_page(job: Job) -> str:
    return reverse("jobs:change_log", args=[job.pk])


def send(client: Client, job: Job, line: str, at: str = "", *, script: bool = False, **fields: object):
    place = position_of(job, at).pk if at else ""
    data = {"once": token(), "seen": 0, "line": line, "at": place, **fields}
    return client.post(reverse("jobs:line", args=[job.pk]), data, headers=SCRIPT if script else None)


def entries(job: Job) -> list[tuple[str, str, str, str, str]]:
    return [
        (one.position.designator, one.kind, one.text, one.verdict, one.decision)
        for one in job.entries.select_related("position").order_by("seq")
    ]


def test_the_letters_are_those_of_the_log() -> None:
    codes = {family: {one.code for one in LETTERS if one.family == family} for family in ("verdict", "decision")}
    assert codes["verdict"] == set(Verdict.values) - {Verdict.NOT_MEASURED}
    assert codes["decision"] == set(Decision.values)
    assert {one.code: one.words for one in LETTERS if one.family == "decision"} == dict(Decision.choices)


def test_a_line_writes_found_measured_and_decision(colleague_client: Client, colleague: Staff) -> None:
    job = a_job()
    answer = send(colleague_client, job, "R1 220K, scorched=310K;ir drifted")
    assert answer.headers["Location"] == f"{sheet_page(job)}?after={position_of(job, 'R1').pk}#line"
    assert entries(job) == [
        ("R1", "found", "220K, scorched", "", ""),
        ("R1", "measured", "310K", "drifted", ""),
        ("R1", "decided", "", "", "replace"),
    ]
    assert job.entries.get(kind="measured").in_circuit
    assert job.entries.get(kind="decided").note == "drifted"
    assert {one.person for one in job.entries.all()} == {colleague}


def test_as_called_for_is_written_in_full(colleague_client: Client) -> None:
    job = a_job()
    send(colleague_client, job, "'';l", at="R1")
    assert [(kind, text, verdict) for _, kind, text, verdict, _ in entries(job)][:2] == [
        ("found", "220K 1/2W", ""),
        ("measured", "220 kΩ", "within"),
    ]


@pytest.mark.parametrize(
    ("line", "text", "verdict"),
    [("=o", "open", "open"), ("=s", "short", "shorted"), (";d", "judged by hand", "drifted"), ("=300k;w", "300k", "within")],
)
def test_short_words_and_verdicts_given_by_hand(colleague_client: Client, line: str, text: str, verdict: str) -> None:
    job = a_job()
    send(colleague_client, job, line, at="R1")
    assert entries(job) == [("R1", "measured", text, verdict, "")]


def test_a_verdict_by_hand_is_taken_at_every_kind_of_part(colleague_client: Client) -> None:
    job = a_job()
    for letter in (one.letter for one in LETTERS if one.family == "verdict"):
        for place in ("C1", "C2", "C3", "R1", "V1"):
            assert send(colleague_client, job, f"{place};{letter}").status_code == 302


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("", "The line is empty."),
        ("C99 .05", "C99 isn't on this sheet."),
        ("C2;q", "“q” says nothing here."),
        ("V1'';l", "No value is called for at V1. Write what the meter reads."),
        ("R1=half a pint", "half a pint"),
        ("R1=310K;l", "Say why the part stays in."),
        ("R1 " + "x" * 301, "Keep it under 300 characters"),
        ("R1 " + "x" * 800, "at most 700 characters"),
        ("R1=-5 ohm", "ohm"),
    ],
)
def test_a_refused_line_stays_as_it_was_typed_and_nothing_is_written(colleague_client: Client, line: str, words: str) -> None:
    job = a_job()
    answer = send(colleague_client, job, line, at="C1")
    text = answer.content.decode()
    assert answer.status_code == 422
    assert escape(words) in text or words in text
    assert sent_form(answer, "line")["line"] == line
    assert not job.entries.exists()


def test_a_line_without_a_position_needs_a_place_to_stand(colleague_client: Client) -> None:
    job = a_job()
    answer = send(colleague_client, job, "'")
    assert escape("The line stands at no position of this sheet. Begin it with one.") in answer.content.decode()


def test_a_position_alone_takes_the_line_there(colleague_client: Client) -> None:
    job = a_job()
    answer = send(colleague_client, job, "r1", at="C1")
    assert answer.headers["Location"] == f"{sheet_page(job)}?at={position_of(job, 'R1').pk}#line"
    assert 'Line at <span class="position">R1</span>' in colleague_client.get(answer.headers["Location"]).content.decode()
    assert not job.entries.exists()


def test_after_a_line_the_next_unresolved_position_is_ready(colleague_client: Client) -> None:
    job = a_job()
    log.decide(position_of(job, "C2"), "keep", author())
    answer = send(colleague_client, job, "';l", at="C1")
    page = colleague_client.get(answer.headers["Location"])
    assert sent_form(page, "line")["at"] == str(position_of(job, "C3").pk)
    assert "C1: found: .0047 250 V; decided: leave in." in page.content.decode()


def test_a_doubtful_value_offers_whole_lines_and_loses_nothing(colleague_client: Client) -> None:
    job = a_job()
    answer = send(colleague_client, job, ". C9 on its case=50;r looks bad", at="C2")
    text = answer.content.decode()
    assert 'name="reading-line" value=". C9 on its case=50 pF;r looks bad"' in text
    again = sent_form(answer, "line") | {"reading-line": ". C9 on its case=50 µF;r looks bad"}
    colleague_client.post(reverse("jobs:line", args=[job.pk]), again)
    assert [(kind, text) for _, kind, text, _, _ in entries(job)] == [
        ("found", "C9 on its case"),
        ("measured", "50 µF"),
        ("decided", ""),
    ]


def test_the_same_line_sent_twice_is_written_once(colleague_client: Client) -> None:
    job, once = a_job(), token()
    first, second = (send(colleague_client, job, "'231k;l", at="R1", once=once, script=True) for _ in range(2))
    assert first.status_code == second.status_code == 200
    assert "R1 was written before, and once only." in second.content.decode()
    assert job.entries.count() == 3


def test_what_another_wrote_meanwhile_is_told_beside_the_line(colleague_client: Client, owner: Staff) -> None:
    job = a_job()
    log.record_found(position_of(job, "R1"), "brown one", author(owner))
    answer = send(colleague_client, job, "R1'231k;l", script=True)
    text = answer.content.decode()
    assert answer.status_code == 422
    assert 'data-answer="stale"' in text
    assert "Since you opened R1, Orla Quillfeather wrote “found: brown one”." in text
    assert f'<tr id="p-{position_of(job, "R1").pk}"' in text
    assert job.entries.count() == 1
    assert send(colleague_client, job, "R1'231k;l", seen=1, script=True).status_code == 200


def test_a_script_gets_the_changed_rows_the_sums_and_one_sentence(colleague_client: Client, owner: Staff) -> None:
    job = a_job()
    log.record_found(position_of(job, "C2"), "black one", author(owner))
    text = send(colleague_client, job, "R1'231k;l", script=True).content.decode()
    assert "<html" not in text
    assert text.count("<tr ") == 2
    assert 'data-answer="written" data-seen="4"' in text
    assert "R1: found: 220K 1/2W; measured: 231k, within tolerance; decided: leave in." in text
    assert "Others wrote meanwhile: C2 (Orla Quillfeather)." in text
    assert "4 of 5" in text


def test_a_line_typed_under_another_name_is_not_written(colleague_client: Client) -> None:
    job = a_job()
    answer = send(colleague_client, job, "R1'231k;l", writer="owner", script=True)
    assert 'data-answer="other_person"' in answer.content.decode()
    assert escape("This line was typed while owner was signed in, and is written under no other name.") in answer.content.decode()
    assert not job.entries.exists()
    assert send(colleague_client, job, "R1'231k;l", writer="colleague", script=True).status_code == 200


def test_a_line_that_was_changed_takes_the_place_of_the_first_one(colleague_client: Client) -> None:
    """The network dropped before the first answer: if the first comes late it counts for nothing, if it came it is told."""
    job, late, came = a_job(), token(), token()
    changed = token()
    for _ in range(2):  # the answer to the changed one may be lost, too
        assert send(colleague_client, job, "R1 red", once=changed, instead=late, script=True).status_code == 200
    assert "was written before" in send(colleague_client, job, "R1 blue", once=late, script=True).content.decode()
    send(colleague_client, job, "C1 red", once=came, seen=9)
    told = send(colleague_client, job, "C1 blue", instead=came, script=True)
    assert 'data-answer="arrived"' in told.content.decode()
    removed = send(colleague_client, job, "", instead=token(), script=True)
    assert "The line is removed; nothing of it was written." in removed.content.decode()
    assert [(place, text) for place, _, text, _, _ in entries(job)] == [("R1", "red"), ("C1", "red")]


def take_back(client: Client, job: Job, *, script: bool = False):
    form = sent_form(client.get(sheet_page(job)), "first")
    return client.post(reverse("jobs:line_take_back", args=[job.pk]), form, headers=SCRIPT if script else None)


@pytest.mark.parametrize("script", [False, True])
def test_the_last_line_is_taken_back_as_a_whole(colleague_client: Client, still_clock: StillClock, script: bool) -> None:
    job = a_job()
    send(colleague_client, job, "C1 red")
    still_clock.forward(minutes=1)
    send(colleague_client, job, "R1'310k;r")
    assert "Take back R1" in colleague_client.get(sheet_page(job)).content.decode()
    answer = take_back(colleague_client, job, script=script)
    assert answer.status_code == (200 if script else 302)
    assert [one.withdrawn for one in job.entries.order_by("seq")] == [False] * 4 + [True] * 3
    page = colleague_client.get(sheet_page(job)).content.decode()
    assert "Take back C1" in page


def test_nobody_takes_back_the_line_of_another(colleague_client: Client, owner_client: Client) -> None:
    job = a_job()
    send(owner_client, job, "C1 red")
    assert "Take back C1" not in colleague_client.get(sheet_page(job)).content.decode()
    data = {"once": token(), "first": 1, "last": 1}
    answer = colleague_client.post(reverse("jobs:line_take_back", args=[job.pk]), data, headers=SCRIPT)
    assert escape("That isn't your last line any more.") in answer.content.decode()
    assert job.entries.count() == 1


def test_a_line_of_yesterday_is_not_offered_to_be_taken_back(
    colleague: Staff, colleague_client: Client, still_clock: StillClock
) -> None:
    job = a_job()
    log.record_found(position_of(job, "C1"), "red", author(colleague))
    still_clock.forward(hours=13)
    assert "Take back C1" not in colleague_client.get(sheet_page(job)).content.decode()


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("R1 470K=310k;r", ["found", "470K", "wrong part", "310k", "drifted", "replace"]),
        ("R1=310k;l", ["The verdict is “drifted”. Write a space and why the part stays in: ;l still good enough"]),
        ("C2=50", ["50 pF", "50 µF"]),
        ("C99", [escape("C99 isn't on this sheet.")]),
        ("R1", ["Enter takes the line there."]),
        ("V1''", ["No value is called for at V1."]),
        ("R1=half", ["half"]),
    ],
)
def test_how_a_line_is_read_is_shown_before_it_is_sent(colleague_client: Client, line: str, words: list[str]) -> None:
    job = a_job()
    text = colleague_client.get(reverse("jobs:line_read", args=[job.pk]), {"line": line, "at": ""}).content.decode()
    for one in words:
        assert one in text
    assert not job.entries.exists()


def test_the_counter_and_strangers_write_no_lines(counter_client: Client, stranger_client: Client) -> None:
    job = a_job()
    assert "line-field" not in counter_client.get(sheet_page(job)).content.decode()
    assert send(counter_client, job, "R1 red").status_code == 403
    assert counter_client.get(reverse("jobs:line_read", args=[job.pk])).status_code == 403
    assert send(stranger_client, job, "R1 red").headers["Location"].startswith(reverse("login"))
    assert send(stranger_client, job, "R1 red", script=True).headers["HX-Redirect"].startswith(reverse("login"))
    assert not job.entries.exists()


def test_a_handed_over_job_takes_no_line(colleague_client: Client) -> None:
    job = a_job(Stage.HANDED_OVER)
    before = job.entries.count()
    assert "line-field" not in colleague_client.get(sheet_page(job)).content.decode()
    assert send(colleague_client, job, "R1 red").status_code == 422
    assert job.entries.count() == before


@pytest.mark.parametrize("count", [1, 200])
def test_a_line_costs_the_same_queries_on_a_short_sheet_and_on_a_long_one(
    colleague_client: Client, count: int, django_assert_num_queries
) -> None:
    rows = [CalledRow(f"R{n}", "plate_load", "220K") for n in range(1, count + 1)]
    job = a_job(model=a_model(f"With {count}", rows=rows))
    # In each, three ask who it is: the session, the person, and whether the place where they signed in was ended.
    with django_assert_num_queries(47):
        assert send(colleague_client, job, "R1'231k;l", script=True).status_code == 200
    with django_assert_num_queries(11):
        colleague_client.get(reverse("jobs:line_read", args=[job.pk]), {"line": "R1 270k=231k;l"})
