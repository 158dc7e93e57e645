"""Bad input gets a clear error and loses nothing: which test proves it for what.

Each line of BAD_INPUT names tests by file and function; the first test below fails where one of them is gone. Two kinds hold for
all forms at once and are proved on every form of every page, in `test_every_form.py`: a refused form keeps what was typed, and a
form that is sent twice acts once. What is between the lines, one person's slip told to two, is walked through here.
"""

import ast

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from inventory.models import Balance, Kind
from jobs.models import Job, Stage
from shop.models import Staff
from tests import builders as make
from tests.house.checkout import ROOT
from tests.journeys.forms import ShownForm, forms_on
from tests.pictures import a_picture

BAD_INPUT = {
    "a value that can be read in two ways, with its readings to choose from": (
        "jobs/test_sheet.py::test_an_ambiguous_value_offers_its_readings_and_keeps_the_rest",
        "jobs/test_position.py::test_choosing_a_reading_writes_it_out_in_full",
        "jobs/test_called_for_pages.py::test_a_doubtful_value_offers_its_readings_and_saves_nothing_until_one_is_chosen",
        "jobs/test_called_for_table.py::test_a_doubtful_value_offers_its_readings_and_takes_the_chosen_one",
        "inventory/test_part_cards.py::test_a_marking_that_can_be_read_in_two_ways_is_asked_about",
    ),
    "a value that can't be read": (
        "jobs/test_position.py::test_an_unreadable_value_is_refused_in_words",
        "jobs/test_called_for_table.py::test_no_text_raises",
        "jobs/test_safety.py::test_an_unreadable_reading_is_refused",
    ),
    "negative and absurd quantities": (
        "jobs/test_fit_part.py::test_an_absurd_count_is_refused",
        "jobs/test_labour.py::test_an_absurd_time_is_refused_and_everything_typed_stays",
        "jobs/test_estimate.py::test_bad_lines_are_refused_in_words",
        "billing/test_money_pages.py::test_bad_payments_are_refused_and_stay_typed",
        "inventory/test_receiving.py::test_bad_input_is_refused_in_words_and_nothing_comes_in",
        "inventory/test_lots.py::test_a_bad_count_is_refused",
        "journeys/test_every_form.py::test_odd_values_are_no_server_error",
        "journeys/test_every_form.py::test_odd_addresses_are_no_server_error",
    ),
    "a part that is no longer in the drawer": (
        "jobs/test_fit_part.py::test_two_stale_pages_want_the_last_part_and_both_learn_what_happened",
        "jobs/test_fit_part.py::test_two_people_take_the_last_part_at_once_and_one_gets_it",
        "inventory/test_lots.py::test_who_took_the_last_one_is_named",
        "journeys/test_bad_input.py::test_a_part_planned_for_one_set_and_taken_for_another",
    ),
    "the same form twice": (
        "jobs/test_rule_9_same_form_twice_and_two_editors.py::test_the_same_fitting_sent_twice_takes_one_part",
        "billing/test_rule_4_issued_invoices_never_change.py::test_a_form_sent_twice_issues_one_invoice",
        "jobs/test_intake_page.py::test_the_same_intake_sent_twice_is_one_job",
        "journeys/test_every_form.py::test_a_form_sent_twice_acts_once",
        "journeys/test_every_form.py::test_the_token_of_one_form_is_no_token_of_another",
    ),
    "two editors on one job": (
        "jobs/test_rule_9_same_form_twice_and_two_editors.py::test_the_second_editor_is_told_by_whom_and_keeps_the_text",
        "jobs/test_intake_page.py::test_two_people_correct_one_intake",
        "jobs/test_estimate.py::test_two_editors_of_one_line_the_second_is_told_and_keeps_what_was_typed",
        "jobs/test_called_for_pages.py::test_two_people_edit_one_list",
        "billing/test_money_pages.py::test_a_log_that_grew_meanwhile_is_not_billed_unseen",
    ),
    "an approval link that ran out, was replaced, or is another's": (
        "jobs/test_approval.py::test_every_bad_link_gets_one_and_the_same_page",
        "jobs/test_approval.py::test_other_figures_than_the_page_showed_are_not_agreed_to",
        "jobs/test_approval.py::test_a_link_with_strange_letters_is_only_a_bad_link",
        "house/test_every_page.py::test_does_not_take_an_answer_to_another_estimate",
    ),
    "a table with the wrong columns, letters or decimal sign": (
        "jobs/test_called_for_pages.py::test_wrong_columns_are_put_right_on_the_preview",
        "jobs/test_called_for_pages.py::test_a_csv_file_is_read_in_its_own_encoding",
        "jobs/test_called_for_table.py::test_a_decimal_comma_that_parts_columns_is_told_and_the_good_lines_stay",
        "jobs/test_called_for_pages.py::test_a_file_that_is_no_table_is_refused_in_words",
    ),
    "a file that is no picture": (
        "jobs/test_photos.py::test_one_file_that_is_no_picture_keeps_none",
        "jobs/test_intake_page.py::test_a_file_that_is_no_picture_refuses_the_form_by_its_name",
        "web/test_trade_form.py::test_a_cut_off_picture_is_refused",
        "journeys/test_bad_input.py::test_a_picture_that_says_to_be_another_kind_of_file",
        "shop/test_pictures_sent_in.py::test_a_bomb_is_refused_by_its_head",
        "shop/test_pictures_sent_in.py::test_a_telephones_own_format_is_refused_with_what_to_do",
        "jobs/test_photos.py::test_a_refused_one_is_named_and_the_others_stay",
    ),
    "a PDF that is locked, broken off, endless, or swells when it is unpacked": (
        "shop/test_drawings.py::test_a_pdf_that_is_no_drawing_is_refused_in_words",
        "shop/test_drawings.py::test_a_file_that_swells_when_it_is_unpacked_is_stopped",
        "shop/test_drawings.py::test_a_file_that_takes_too_long_is_stopped",
        "shop/test_drawings.py::test_a_script_in_a_pdf_is_drawn_past_and_never_run",
        "jobs/test_service_sheets.py::test_what_is_no_drawing_is_refused_and_the_words_stay",
    ),
    "a server that is killed in the middle": (
        "faults/test_short_runs.py::test_nothing_acknowledged_is_lost_when_the_process_is_killed",
        "faults/test_short_runs.py::test_nothing_acknowledged_is_lost_when_the_server_is_killed",
        "billing/test_rule_4_issued_invoices_never_change.py::test_a_failure_in_the_middle_gives_the_number_back",
    ),
    "whatever is refused, what was typed stays": ("journeys/test_every_form.py::test_a_refused_form_keeps_what_was_typed",),
}


def functions_in(name: str) -> set[str]:
    tree = ast.parse((ROOT / "tests" / name).read_text(encoding="utf-8"))
    return {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}


@pytest.mark.parametrize("what", BAD_INPUT)
def test_every_kind_of_bad_input_is_proved(what: str) -> None:
    named = [one.split("::") for one in BAD_INPUT[what]]
    assert [f"{file}::{function}" for file, function in named if function not in functions_in(file)] == []


def form_to(client: Client, page: str, action: str) -> ShownForm:
    """The form of a page that is sent to an address, as it stands there."""
    return next(one for one in forms_on(page, client.get(page).content.decode()) if one.action == action)


@pytest.fixture
def two_sets(colleague: Staff) -> tuple[Job, Job]:
    """Two sets on the bench; the last resistor is planned for the first one's R1."""
    make.a_lot(make.a_part("220 kΩ 1 W", Kind.RESISTOR), 1)
    jobs = make.a_job(Stage.INSPECTING, with_fit=False), make.a_job(Stage.INSPECTING, with_fit=False)
    return jobs


def test_a_part_planned_for_one_set_and_taken_for_another(
    two_sets: tuple[Job, Job], colleague_client: Client, owner_client: Client
) -> None:
    """Both have the page open. The first plans the last part; the second is told so, and sees what there is now."""
    pages = [reverse("jobs:position", args=[make.position_of(job, "R1").pk]) for job in two_sets]
    plans = [reverse("jobs:entry_plan", args=[make.position_of(job, "R1").pk]) for job in two_sets]
    first, second = form_to(colleague_client, pages[0], plans[0]), form_to(owner_client, pages[1], plans[1])
    offer = dict(first.buttons)["offer"]
    assert colleague_client.post(plans[0], {**first.values, "offer": offer}).status_code == 302
    told = owner_client.post(plans[1], {**second.values, "offer": offer, "note": "for the second set"})
    text = told.content.decode()
    assert told.status_code == 422
    assert "1 of them held for other jobs, and 1 is wanted." in text
    assert 'value="for the second set"' in text
    assert "No drawer holds a part that will do here." in text
    assert Balance.objects.get(lot__part__marking="220 kΩ 1 W").held == 1


def test_a_picture_that_says_to_be_another_kind_of_file(colleague_client: Client) -> None:
    """What a file holds decides, not what it is called: a picture under any name is kept, any other file under none."""
    job = make.a_job()
    address = reverse("jobs:photos", args=[job.pk])
    for name, content, kept in (("front.exe", a_picture("JPEG"), 1), ("front.jpg", b"<svg onload=alert(1)>", 1)):
        form = form_to(colleague_client, address, address)
        answer = colleague_client.post(
            address, {**form.values, "caption": "the front", "photos": SimpleUploadedFile(name, content)}
        )
        assert job.photos.count() == kept, answer.content.decode()  # type: ignore[attr-defined]
    assert answer.status_code == 422
    assert "“front.jpg” is no picture we can read." in answer.content.decode()
    assert 'value="the front"' in answer.content.decode()
