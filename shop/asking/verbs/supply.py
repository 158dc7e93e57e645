"""Questions about the power supply: voltages, ripple, currents, and what the rectifier bears."""

from decimal import Decimal
from typing import Any

from jobs.bench.supply import TOPOLOGIES, Law, Linear, Supply, ThreeHalves, compute, limits, rectifier_law
from shop.asking.fields import Question, shown
from shop.asking.refusals import Refusal
from shop.asking.verb import Verb

LAWS = ("linear", "three_halves")
FIGURES = (
    "reservoir_mean_v",
    "reservoir_ripple_pp_v",
    "bplus_mean_v",
    "bplus_ripple_pp_v",
    "rectifier_peak_a",
    "rectifier_rms_a",
    "inrush_peak_a",
    "reservoir_startup_max_v",
)


def _rectifier(question: Question) -> tuple[Law, str]:
    """The law, and the type where a type was named."""
    value = question.raw("rectifier")
    if isinstance(value, str):
        name = question.text("rectifier", "5Y3-GT")
        return rectifier_law(name), name
    if not isinstance(value, dict):
        said = "is missing" if value is None else f"is {shown(value)}"
        raise Refusal(
            "unreadable",
            f'“rectifier” {said}. Give a type like "5Y3-GT", {{"law": "linear", "ohms": 130}} or '
            '{"law": "three_halves", "perveance": 0.00035}.',
        )
    law = Question(value)
    if law.choice("law", LAWS) == "linear":
        return Linear(float(law.number("ohms", "130"))), ""
    return ThreeHalves(float(law.number("perveance", "0.00035"))), ""


def _number(question: Question, name: str, example: str, default: str | None = None) -> float:
    value = question.optional_number(name, example) if default is not None else question.number(name, example)
    return float(Decimal(default or "0") if value is None else value)


def _supply(question: Question) -> dict[str, Any]:
    topology = question.choice("topology", TOPOLOGIES)
    law, name = _rectifier(question)
    load_amps, load_ohms = question.optional_number("load_amps", "0.07"), question.optional_number("load_ohms", "4500")
    circuit = Supply(
        topology=topology,
        volts_rms=_number(question, "volts_rms", "300"),
        frequency_hz=_number(question, "frequency_hz", "50"),
        source_ohms=_number(question, "source_ohms", "100"),
        rectifier=law,
        reservoir_uf=_number(question, "reservoir_uf", "16"),
        choke_h=_number(question, "choke_h", "10", "0"),
        choke_ohms=_number(question, "choke_ohms", "450"),
        smoothing_uf=_number(question, "smoothing_uf", "32"),
        load_amps=None if load_amps is None else float(load_amps),
        load_ohms=None if load_ohms is None else float(load_ohms),
        rectifier_type=name,
    )
    found = compute(circuit)
    said: dict[str, Any] = {figure: float(f"{getattr(found, figure):.7g}") for figure in FIGURES}
    said["limits"] = [
        {
            "code": one.code,
            "value": float(one.value),
            "limit": float(one.limit),
            "unit": one.unit,
            "exceeded": one.exceeded,
            "message": one.sentence,
            "source": one.source,
        }
        for one in limits(circuit, found)
    ]
    return said


VERBS = (
    Verb(
        "supply",
        f"topology ({', '.join(TOPOLOGIES)}), volts_rms (per half), frequency_hz, source_ohms, rectifier (a type, "
        '{"law": "linear", "ohms": R} or {"law": "three_halves", "perveance": P}), reservoir_uf, choke_h, choke_ohms, '
        "smoothing_uf, load_amps (constant, falling to nothing below 10 V) or load_ohms",
        f"{', '.join(FIGURES)}, limits with what is exceeded",
        {
            "topology": "full-wave",
            "volts_rms": 300,
            "frequency_hz": 60,
            "source_ohms": 50,
            "rectifier": "5Y3-GT",
            "reservoir_uf": 47,
            "choke_h": 10,
            "choke_ohms": 450,
            "smoothing_uf": 20,
            "load_amps": 0.07,
        },
        _supply,
    ),
)
