"""Rules for parts that are called for by type: valves, transistors, lamps and the rest."""

from collections.abc import Iterator

from inventory.components.answers import Question, Reason, deviation_of, source_of
from inventory.components.valves import equivalent, plain_type
from inventory.components.writing import write_value


def judge_valve(ask: Question) -> Iterator[Reason]:
    offered, called = ask.candidate.valve_type, ask.called_type
    if not called:
        yield Reason(
            "called_unknown",
            "warn",
            "The service data does not say which valve is called for. Enter its type first.",
            source_of("called"),
        )
    elif not offered:
        yield Reason("valve_type", "no", f"{called} is called for and this part has no valve type on record.", source_of("valve"))
    elif plain_type(called) == plain_type(offered):
        yield Reason("valve_type", "yes", f"{offered} is the type called for.", source_of("valve"))
    else:
        yield _valve_equivalent(called, offered)


def _valve_equivalent(called: str, offered: str) -> Reason:
    found = equivalent(called, offered)
    if found is None:
        return Reason(
            "valve_type", "no", f"{called} is called for, and {offered} is not listed as its equivalent.", source_of("valve")
        )
    if found.how == "same" and not found.from_memory:
        return Reason("valve_type", "yes", f"{offered} is another name of {called}.", found.source)
    note = f" ({found.note})" if found.note else ""
    words = {"same": "is given as another name of", "near": "comes near", "base": "has the data of but not the base of"}[
        found.how
    ]
    ending = " From memory: compare the data sheets." if found.from_memory else " The socket must be changed or adapted."
    return Reason("valve_type", "warn", f"{offered} {words} {called}{note}.{ending}", found.source)


def judge_other_part(ask: Question) -> Iterator[Reason]:
    if ask.called_type and ask.candidate.valve_type and plain_type(ask.called_type) == plain_type(ask.candidate.valve_type):
        yield Reason("type", "yes", f"{ask.candidate.valve_type} is the type called for.", source_of("called"))
        return
    if ask.called is not None and ask.offered is not None and ask.called.kind == ask.offered.kind:
        deviation = deviation_of(ask)
        if deviation is not None and abs(deviation) <= 10:
            yield Reason(
                "value", "yes", f"{write_value(ask.offered.value, ask.offered.kind)} is what is called for.", source_of("called")
            )
            return
    text = f"No rule judges {ask.role.label.lower()} by its marking. Compare it with the service data yourself."
    yield Reason("judge_yourself", "warn", text, source_of("called"))
