"""The history of a model as its paper shows it."""

from datetime import date

from jobs.documents.model_history import ModelHistoryPaper, Row
from jobs.models import RadioModel
from jobs.queries.known import set_cautions
from jobs.queries.model_history import ModelHistory, PlaceHistory, history_of
from jobs.queries.model_likes import Likes, likes_of
from shop.paper import Letterhead
from shop.paper.wording import show_lasting, show_short_day


def model_history_paper(model: RadioModel, head: Letterhead, on: date) -> ModelHistoryPaper:
    """Sets like it are told only where none of the model's own was here."""
    history = history_of(model)
    likes = likes_of(model) if history.is_empty else Likes()
    cautions = set_cautions(model.supply_kind, model.year, model.lineup)
    return ModelHistoryPaper(
        head,
        str(model),
        on,
        history.sets,
        jobs=_jobs(history, head.locale),
        places=tuple(map(_place, history.places)),
        points=tuple(
            (one.designator, one.point, str(one.sets), *map(volts, (one.low, one.median, one.high))) for one in history.points
        ),
        hours=tuple((one.label, str(one.jobs), *map(show_lasting, (one.low, one.median, one.high))) for one in history.hours),
        came_back=tuple((one.number, one.designator or "–", one.text, one.cause) for one in history.came_back),
        traps=model.traps,
        cautions=tuple(f"{one.title}: {one.text}" for one in cautions),
        likes_how=likes.how,
        likes_models=", ".join(likes.models),
        likes=tuple((one.label, str(one.places), str(one.replaced), f"{one.percent} %") for one in likes.roles),
    )


def volts(value: float) -> str:
    return f"{value:.4g}"


def _jobs(history: ModelHistory, locale: str) -> tuple[Row, ...]:
    return tuple(
        (one.number, show_short_day(one.taken_in_on, locale), one.serial or "–", one.fault, one.stage_label)
        for one in history.jobs
    )


def _place(place: PlaceHistory) -> Row:
    drift = place.drift.median if place.drift else None
    return (
        place.designator,
        place.role_label,
        place.called,
        f"{place.replaced} of {place.sets}",
        "\n".join(told(text, count) for text, count in place.found),
        "\n".join(told(text, count) for text, count in place.faults),
        "" if drift is None else f"{drift:+.1f} %",
    )


def told(text: str, count: int) -> str:
    return text if count == 1 else f"{text} ({count}×)"
