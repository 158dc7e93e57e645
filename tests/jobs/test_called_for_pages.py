"""A model's page: its called-for list edited as one form, read in from a table, and taken over by running jobs."""

import uuid
from collections.abc import Callable, Sequence
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from jobs.forms.models import SPARE_ROWS
from jobs.models import CalledFor, RadioModel
from jobs.services.called_for import CalledRow, save_called_for
from shop.web.fields import INCOMPLETE
from tests.builders import a_job, a_model, a_set
from tests.jobs.sent import sent_form

pytestmark = pytest.mark.django_db
ROWS = (
    CalledRow("C1", "coupling", ".01 400 V"),
    CalledRow("R1", "plate_load", "220K 1/2W", "brown"),
    CalledRow("V1", "valve", "12SK7"),
)


@pytest.fixture
def model(db: None) -> RadioModel:
    kept = a_model(rows=ROWS)
    kept.refresh_from_db()
    return kept


def address_of(model: RadioModel, name: str = "model") -> str:
    return reverse(f"jobs:{name}", args=[model.pk])


def listed(model: RadioModel) -> list[tuple[str, str, str, str]]:
    return [(one.designator, one.role, one.called, one.note) for one in CalledFor.objects.filter(model=model)]


def opened(client: Client, model: RadioModel, **typed: str) -> dict[str, str]:
    return {**sent_form(client.get(address_of(model)), "row-TOTAL_FORMS"), **typed}


def row_errors(answer: Any, line: int) -> dict[str, list[str]]:
    return dict(answer.context["rows"].forms[line].errors)


def test_a_model_without_a_list_starts_with_empty_lines(colleague_client: Client) -> None:
    page = colleague_client.get(address_of(a_model("Concert 3", "Telmar", rows=())))
    assert len(page.context["rows"].forms) == 6


def test_the_list_is_changed_added_to_reordered_and_shortened_in_one_form(colleague_client: Client, model: RadioModel) -> None:
    form = opened(colleague_client, model)
    typed = {
        "row-0-called": "0.05 MFD 600V",
        "row-1-DELETE": "on",
        "row-2-ORDER": "1",
        "row-0-ORDER": "2",
        "row-3-designator": "c7",
        "row-3-role": "bypass",
        "row-3-called": ".1",
    }
    answer = colleague_client.post(address_of(model), {**form, **typed})
    assert answer.headers["Location"] == address_of(model)
    assert listed(model) == [("V1", "valve", "12SK7", ""), ("C1", "coupling", "0.05 MFD 600V", ""), ("C7", "bypass", ".1", "")]


def test_a_doubtful_value_offers_its_readings_and_saves_nothing_until_one_is_chosen(
    colleague_client: Client, model: RadioModel
) -> None:
    form = opened(colleague_client, model, **{"row-0-called": "50", "row-1-note": "red"})
    answer = colleague_client.post(address_of(model), form)
    assert answer.status_code == 422
    assert row_errors(answer, 0)["called"][0].startswith("'50' can be read in 2 ways: 50 pF")
    assert answer.context["rows"].forms[0].answers() == [
        ("50 pF", "read it as 50 pF", False),
        ("50 µF", "read it as 50 µF", False),
    ]
    assert listed(model)[0] == ("C1", "coupling", ".01 400 V", "")
    kept = sent_form(answer, "row-TOTAL_FORMS")
    assert (kept["row-0-called"], kept["row-1-note"]) == ("50", "red")
    chosen = colleague_client.post(address_of(model), {**kept, "row-0-reading": "50 µF"})
    assert chosen.status_code == 302
    assert listed(model)[:2] == [("C1", "coupling", "50 µF", ""), ("R1", "plate_load", "220K 1/2W", "red")]


def test_what_is_no_quantity_is_kept_only_when_somebody_says_so(colleague_client: Client, model: RadioModel) -> None:
    form = opened(colleague_client, model, **{"row-0-called": "see note"})
    answer = colleague_client.post(address_of(model), form)
    assert answer.status_code == 422
    assert [way[0] for way in answer.context["rows"].forms[0].answers()] == ["keep"]
    kept = {**sent_form(answer, "row-TOTAL_FORMS"), "row-0-reading": "keep"}
    assert colleague_client.post(address_of(model), kept).status_code == 302
    assert listed(model)[0][2] == "see note"
    again = opened(colleague_client, model, **{"row-1-note": "red"})
    assert colleague_client.post(address_of(model), again).status_code == 302, "what was kept is not asked about again"


def test_a_chosen_reading_stays_in_its_field_while_another_line_is_refused(colleague_client: Client, model: RadioModel) -> None:
    form = opened(colleague_client, model, **{"row-0-called": "50", "row-0-reading": "50 µF", "row-1-called": "?"})
    answer = colleague_client.post(address_of(model), form)
    assert answer.status_code == 422
    assert sent_form(answer, "row-TOTAL_FORMS")["row-0-called"] == "50 µF"


@pytest.mark.parametrize(
    ("typed", "line", "field", "error"),
    [
        ({"row-1-designator": "c1"}, 1, "designator", "C1 is named twice; a designator stands for one position."),
        ({"row-0-designator": ""}, 0, "designator", "Write the position's designator, such as C12."),
        ({"row-3-called": ".1"}, 3, "designator", "Write the position's designator, such as C12."),
        (
            {"row-0-role": "flux"},
            0,
            "role",
            "Select a valid choice. flux is not one of the available choices.",
        ),
    ],
)
def test_a_line_that_is_wrong_is_marked_and_all_is_kept(
    colleague_client: Client, model: RadioModel, typed: dict[str, str], line: int, field: str, error: str
) -> None:
    answer = colleague_client.post(address_of(model), opened(colleague_client, model, **{"row-2-note": "kept", **typed}))
    assert answer.status_code == 422
    assert row_errors(answer, line)[field] == [error]
    assert sent_form(answer, "row-TOTAL_FORMS")["row-2-note"] == "kept"
    assert listed(model)[0] == ("C1", "coupling", ".01 400 V", "")


def test_more_empty_lines_keep_what_is_typed(colleague_client: Client, model: RadioModel) -> None:
    form = opened(colleague_client, model, **{"row-3-designator": "C7", "more": "1"})
    answer = colleague_client.post(address_of(model), form)
    wider = sent_form(answer, "row-TOTAL_FORMS")
    assert wider["row-TOTAL_FORMS"] == str(int(form["row-TOTAL_FORMS"]) + 6)
    assert (wider["row-3-designator"], wider["once"], wider["seen"]) == ("C7", form["once"], form["seen"])
    assert len(listed(model)) == 3
    assert colleague_client.post(address_of(model), wider).status_code == 302
    assert listed(model)[3] == ("C7", "other", "", "")


def test_the_list_sent_twice_is_saved_once(colleague_client: Client, model: RadioModel) -> None:
    form = opened(colleague_client, model, **{"row-0-note": "wax"})
    assert [colleague_client.post(address_of(model), form).status_code for _ in range(2)] == [302, 302]
    before = model.version
    model.refresh_from_db()
    assert model.version == before + 1


def test_two_people_edit_one_list(colleague_client: Client, counter_client: Client, model: RadioModel) -> None:
    one, two = opened(colleague_client, model), opened(counter_client, model)
    assert colleague_client.post(address_of(model), {**one, "row-0-note": "wax"}).status_code == 302
    late = counter_client.post(address_of(model), {**two, "row-1-note": "red"})
    assert late.status_code == 422
    assert late.context["form"].non_field_errors() == [
        "The list was changed by somebody else since you opened it. Your rows are still here: compare, then save again."
    ]
    assert [(row.designator, row.note) for row in late.context["differing"]] == [("C1", "wax"), ("R1", "brown")]
    again = {**sent_form(late, "row-TOTAL_FORMS"), "row-0-note": "wax"}
    assert counter_client.post(address_of(model), again).status_code == 302
    assert [row[3] for row in listed(model)] == ["wax", "red", ""]


@pytest.mark.parametrize("total", ["", "x", "-1", "999999999"])
def test_a_broken_form_is_refused_in_words(colleague_client: Client, model: RadioModel, total: str) -> None:
    answer = colleague_client.post(address_of(model), opened(colleague_client, model, **{"row-TOTAL_FORMS": total}))
    assert answer.status_code == 422
    assert len(listed(model)) == 3


def test_a_list_that_promises_more_rows_than_arrived_is_refused_and_shows_those(
    colleague_client: Client, model: RadioModel
) -> None:
    """Data cut off on their way must not pass for a list whose last rows were taken out."""
    answer = colleague_client.post(address_of(model), opened(colleague_client, model, **{"row-TOTAL_FORMS": "400"}))
    assert answer.status_code == 422
    assert answer.context["rows"].non_form_errors() == [INCOMPLETE]
    assert len(answer.context["rows"].forms) == 3 + SPARE_ROWS
    assert len(listed(model)) == 3


def test_a_stranger_sees_no_model(stranger_client: Client, model: RadioModel) -> None:
    for name in ("model", "model_change", "called_for_import"):
        assert stranger_client.get(address_of(model, name)).headers["Location"].startswith(reverse("login"))
    for name in ("models", "model_new"):
        assert stranger_client.get(reverse(f"jobs:{name}")).headers["Location"].startswith(reverse("login"))


def test_a_running_job_takes_the_new_positions_over(colleague_client: Client, model: RadioModel) -> None:
    job = a_job(radio=a_set(model=model))
    model.refresh_from_db()
    save_called_for(model, [*ROWS, CalledRow("C7", "bypass", ".1")], seen=model.version)
    page = colleague_client.get(address_of(model)).content.decode()
    assert "lacks 1 position" in page
    address, token = reverse("jobs:positions_take_over", args=[job.pk]), str(uuid.uuid4())
    for _ in range(2):
        assert colleague_client.post(address, {"once": token}).headers["Location"] == address_of(model)
    assert [one.designator for one in job.positions.all()] == ["C1", "R1", "V1", "C7"]  # type: ignore[attr-defined]
    again = colleague_client.post(address, {"once": str(uuid.uuid4())})
    assert again.status_code == 409
    assert f"Job {job.number} has every position of its model already." in again.content.decode()
    assert colleague_client.get(address).status_code == 302


@pytest.mark.parametrize("count", [1, 50])
def test_the_list_of_models_asks_the_same_few_questions(
    colleague_client: Client, django_assert_num_queries: Callable[..., Any], count: int
) -> None:
    for number in range(count):
        a_model(f"Aurora {number}", "Korvan", rows=ROWS)
    with django_assert_num_queries(7):
        page = colleague_client.get(reverse("jobs:models"))
    assert "Korvan Aurora 0" in page.content.decode()


def test_the_list_of_models_is_searched_and_teaches_when_empty(colleague_client: Client) -> None:
    assert "No models yet" in colleague_client.get(reverse("jobs:models")).content.decode()
    a_model("Kestrel 5", "Merrowby")
    assert "Merrowby Kestrel 5" in colleague_client.get(reverse("jobs:models"), {"q": "KESTREL"}).content.decode()
    assert "No model answers to this." in colleague_client.get(reverse("jobs:models"), {"q": "zz"}).content.decode()


def test_a_model_is_written_down_and_not_twice(colleague_client: Client) -> None:
    facts = {"maker": "Korvan", "name": "Aurora 5", "supply_kind": "transformer", "year": "1951", "traps": "Cracked dial."}
    answer = colleague_client.post(reverse("jobs:model_new"), {"once": str(uuid.uuid4()), **facts})
    model = RadioModel.objects.get()
    assert answer.headers["Location"] == address_of(model)
    assert (str(model), model.traps, model.year) == ("Korvan Aurora 5", "Cracked dial.", 1951)
    again = colleague_client.post(reverse("jobs:model_new"), {"once": str(uuid.uuid4()), **facts, "maker": "KORVAN"})
    assert again.context["form"].errors["name"] == [
        "Korvan Aurora 5 is written down already. Open that model, or give this one another name."
    ]


def test_two_people_correct_one_model(colleague_client: Client, counter_client: Client, model: RadioModel) -> None:
    address = address_of(model, "model_change")
    one, two = (sent_form(client.get(address), "traps") for client in (colleague_client, counter_client))
    assert colleague_client.post(address, {**one, "traps": "C1 leaks."}).status_code == 302
    late = counter_client.post(address, {**two, "lineup": "12SK7"})
    assert late.status_code == 422
    assert late.context["form"].non_field_errors() == [
        "The model was changed by somebody else since you opened it. Compare, then send again."
    ]
    assert dict(late.context["now"]) == {"Traps seen in this model": "C1 leaks.", "Valve or transistor line-up": "nothing"}
    assert counter_client.post(address, {**sent_form(late, "traps"), "traps": "C1 leaks."}).status_code == 302
    model.refresh_from_db()
    assert (model.traps, model.lineup) == ("C1 leaks.", "12SK7")


TABLE = "C1;coupling;.01 400 V;\nR1;plate load;270K;brown\nC7;bypass;50;\nC8;bypass;0,1 µF;\nC9;flux former;.1;\n"


def read_in(client: Client, model: RadioModel, text: str = TABLE, **typed: Any) -> Any:
    start = sent_form(client.get(address_of(model, "called_for_import")), "table")
    return client.post(address_of(model, "called_for_import"), {**start, "table": text, **typed})


def states(answer: Any) -> Sequence[tuple[str, str]]:
    return [(one.row.designator, one.state) for one in answer.context["merge"]]


def test_a_pasted_table_is_shown_line_by_line_before_anything_is_kept(colleague_client: Client, model: RadioModel) -> None:
    answer = read_in(colleague_client, model)
    assert answer.status_code == 200
    assert states(answer) == [("C1", "same"), ("R1", "changed"), ("C7", "refused"), ("C8", "added"), ("C9", "refused")]
    text = answer.content.decode()
    assert "“flux former” is no role this shop knows." in text
    assert "was 220K 1/2W" in text
    assert "read it as 50 µF" in text
    assert len(listed(model)) == 3


def test_the_good_lines_are_kept_and_the_others_left_out(colleague_client: Client, model: RadioModel) -> None:
    preview = sent_form(read_in(colleague_client, model), "table")
    answer = colleague_client.post(address_of(model, "called_for_import"), {**preview, "line_3": "50 µF", "save": "1"})
    assert answer.headers["Location"] == address_of(model)
    assert listed(model) == [
        ("C1", "coupling", ".01 400 V", ""),
        ("R1", "plate_load", "270K", "brown"),
        ("V1", "valve", "12SK7", ""),
        ("C7", "bypass", "50 µF", ""),
        ("C8", "bypass", "0,1 µF", ""),
    ]


def test_an_answer_given_before_reading_again_still_holds_when_saving(colleague_client: Client, model: RadioModel) -> None:
    address = address_of(model, "called_for_import")
    preview = sent_form(read_in(colleague_client, model), "table")
    again = colleague_client.post(address, {**preview, "line_3": "50 µF", "again": "1"})
    assert ("C7", "added") in states(again)
    assert colleague_client.post(address, {**sent_form(again, "table"), "save": "1"}).status_code == 302
    assert ("C7", "bypass", "50 µF", "") in listed(model)


def test_wrong_columns_are_put_right_on_the_preview(colleague_client: Client, model: RadioModel) -> None:
    swapped = ".1;C7;bypass\n.2;C8;bypass\n"
    preview = sent_form(read_in(colleague_client, model, swapped), "table")
    assert [preview[f"column_{at}"] for at in range(3)] == ["designator", "called", "role"]
    columns = {"column_0": "called", "column_1": "designator", "column_2": "role", "again": "1"}
    answer = colleague_client.post(address_of(model, "called_for_import"), {**preview, **columns})
    assert states(answer) == [("C7", "added"), ("C8", "added")]


def test_another_delimiter_cuts_the_table_anew(colleague_client: Client, model: RadioModel) -> None:
    preview = sent_form(read_in(colleague_client, model, "C7,bypass,.1\nC8,bypass,.2\n"), "table")
    assert preview["delimiter"] == "comma"
    answer = colleague_client.post(address_of(model, "called_for_import"), {**preview, "delimiter": "semicolon", "again": "1"})
    assert answer.context["layout"].columns == ("designator",)
    back = colleague_client.post(address_of(model, "called_for_import"), {**sent_form(answer, "table"), "delimiter": "comma"})
    assert states(back) == [("C7", "added"), ("C8", "added")]


def test_a_csv_file_is_read_in_its_own_encoding(colleague_client: Client, model: RadioModel) -> None:
    file = SimpleUploadedFile("list.csv", "C7;bypass;0,1 µF;größe\n".encode("cp1252"))
    answer = read_in(colleague_client, model, "", file=file)
    assert states(answer) == [("C7", "added")]
    assert "Windows, Western Europe and America" in answer.content.decode()
    kept = sent_form(answer, "table")
    assert colleague_client.post(address_of(model, "called_for_import"), {**kept, "save": "1"}).status_code == 302
    assert listed(model)[-1] == ("C7", "bypass", "0,1 µF", "größe")


@pytest.mark.parametrize(
    ("content", "error"),
    [
        (b"PK\x03\x04 workbook", "That is a spreadsheet's own file. Save the sheet as CSV, or copy its cells and paste them."),
        (b"C1\x00\x00", "That file holds no text. Save the table as CSV, or copy its cells and paste them."),
        (b"x" * 1_000_001, "“list.csv” is larger than 1 MB. A called-for list is far smaller."),
    ],
)
def test_a_file_that_is_no_table_is_refused_in_words(
    colleague_client: Client, model: RadioModel, content: bytes, error: str
) -> None:
    answer = read_in(colleague_client, model, "", file=SimpleUploadedFile("list.csv", content))
    assert answer.status_code == 422
    assert answer.context["form"].errors["file"] == [error]


def test_no_table_at_all_is_asked_for(colleague_client: Client, model: RadioModel) -> None:
    answer = read_in(colleague_client, model, "  \n")
    assert answer.context["form"].errors["table"] == ["There is no table in it. Paste one, or choose a file."]


def test_a_table_that_changes_nothing_is_told(colleague_client: Client, model: RadioModel) -> None:
    preview = sent_form(read_in(colleague_client, model, "C1;coupling;.01 400 V;\n"), "table")
    answer = colleague_client.post(address_of(model, "called_for_import"), {**preview, "save": "1"})
    assert answer.status_code == 422
    assert answer.context["form"].non_field_errors() == ["No line adds or changes anything, so nothing was kept."]


def test_a_table_sent_twice_is_read_in_once(colleague_client: Client, model: RadioModel) -> None:
    preview = {**sent_form(read_in(colleague_client, model), "table"), "save": "1"}
    addresses = [colleague_client.post(address_of(model, "called_for_import"), preview).headers["Location"] for _ in range(2)]
    assert addresses == [address_of(model)] * 2
    before = model.version
    model.refresh_from_db()
    assert model.version == before + 1


def test_a_list_that_was_changed_meanwhile_is_compared_again(
    colleague_client: Client, counter_client: Client, model: RadioModel
) -> None:
    preview = {**sent_form(read_in(colleague_client, model), "table"), "save": "1"}
    assert counter_client.post(address_of(model), opened(counter_client, model, **{"row-1-called": "270K"})).status_code == 302
    late = colleague_client.post(address_of(model, "called_for_import"), preview)
    assert late.status_code == 422
    assert dict(states(late))["R1"] == "same"
    assert (
        colleague_client.post(address_of(model, "called_for_import"), {**sent_form(late, "table"), "save": "1"}).status_code
        == 302
    )
    assert len(listed(model)) == 4
