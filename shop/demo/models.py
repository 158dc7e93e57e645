"""The invented models with their called-for lists, and the shop's flat tasks."""

from collections.abc import Mapping

from inventory.components.tables import csv_table
from jobs.models import FlatTask, RadioModel
from jobs.services.called_for import CalledRow, save_called_for
from jobs.services.intake import SetFacts, model_named
from jobs.services.supply import TypedFigures, save_figures
from shop.demo.people import PACKAGE, data


def write_models() -> None:
    for one in data("models.toml")["model"]:
        model = model_named(set_facts(one["code"]))
        RadioModel.objects.filter(pk=model.pk).update(traps=one.get("traps", ""))
        save_called_for(model, called_rows(one["code"]), seen=model.version)
        if "supply" in one:
            save_figures(model, TypedFigures(**one["supply"]), seen=0)
    for one in data("models.toml")["task"]:
        FlatTask.objects.create(name=one["name"], step=one["step"], price_minor=one["price"])


def called_rows(code: str) -> list[CalledRow]:
    rows = csv_table(PACKAGE, "called_for.csv")
    return [CalledRow(row["designator"], row["role"], row["called"], row["note"]) for row in rows if row["model"] == code]


def _model(code: str) -> Mapping[str, str]:
    return next(one for one in data("models.toml")["model"] if one["code"] == code)


def set_facts(code: str, serial: str = "", year: int | None = None) -> SetFacts:
    """A set of the model with that code, as the counter writes it down."""
    one = _model(code)
    return SetFacts(one["maker"], one["name"], one["supply_kind"], serial, year or int(one["year"]), one["lineup"])


def task_named(name: str) -> FlatTask:
    return FlatTask.objects.get(name=name)
