"""Readings of a valve tester. They are worth something only with the tester, its calibration and the day beside them."""

import re
from decimal import Decimal
from typing import Any

from inventory.components.tables import toml_table
from jobs.bench.readings import Judgement

_NUMBER = r"(\d{1,6}(?:[.,]\d{1,4})?)"
_WORDS = r"(?:tester|valve|tube|reads?|gm|emission|em|mutual conductance|transconductance|ma/v|µmho|umho|µs|ms|ma|:|=|\s)*"
_PERCENT = re.compile(rf"{_WORDS}{_NUMBER}\s*%.*")
_MARK = re.compile(rf"{_WORDS}{_NUMBER}{_WORDS}[,;/(]?\s*(?:reject|minimum|min\.?|at least|limit){_WORDS}{_NUMBER}.*")
_OF_NEW = re.compile(rf"{_WORDS}{_NUMBER}{_WORDS}(?:of|/|for){_WORDS}{_NUMBER}.*")
_WORDED = {
    "shorted": ("short", "heater cathode", "heater-cathode", "h-k", "hk leak"),
    "open": ("open", "no emission", "dead", "heater open"),
    "leaky": ("gas", "leak"),
    "drifted": ("weak", "low emission", "poor", "tired"),
    "within": ("good", "strong", "as new", "ok"),
}
WITH_WHAT = "A reading counts with its tester, the tester's calibration and the day: write them into the note."


def judge_tester(text: str) -> Judgement | None:
    """The verdict of "72 %", "Gm 4.2 of 5.5", "72, reject 60", "weak", "heater-cathode short"; None where nothing is said of it.

    Percent of a new one against the shop's reject figure (limits.toml), or the reading against the tester's own reject mark.
    """
    said = " ".join(text.lower().split())[:120]
    marked = _MARK.fullmatch(said)
    if marked:
        return _against_mark(_decimal(marked.group(1)), _decimal(marked.group(2)))
    percent, of_new = _PERCENT.fullmatch(said), _OF_NEW.fullmatch(said)
    if percent:
        return _against_new(_decimal(percent.group(1)))
    if of_new and _decimal(of_new.group(2)):
        return _against_new(_decimal(of_new.group(1)) / _decimal(of_new.group(2)) * 100)
    return _worded(said)


def _decimal(text: str) -> Decimal:
    return Decimal(text.replace(",", "."))


def _against_mark(reading: Decimal, mark: Decimal) -> Judgement:
    good = reading >= mark
    text = f"The tester shows {reading:f}; it rejects below {mark:f}: {'it may stay' if good else 'it is worn out'}."
    return Judgement("within" if good else "drifted", None, None, (text, WITH_WHAT))


def _against_new(percent: Decimal) -> Judgement:
    table: dict[str, Any] = toml_table("jobs.bench", "limits.toml")["valve_tester"]
    reject, weak = Decimal(table["reject_percent"]), Decimal(table["weak_percent"])
    shown = f"{percent.quantize(Decimal(1)):f} % of a new one"
    if percent < reject:
        return Judgement(
            "drifted", percent - 100, None, (f"It shows {shown}, below {reject} %: worn out. {table['source']}.", WITH_WHAT)
        )
    ending = f"weak, but above {reject} %: watch it in the soak" if percent < weak else "it may stay"
    return Judgement("within", percent - 100, None, (f"It shows {shown}: {ending}.", WITH_WHAT))


def _worded(said: str) -> Judgement | None:
    for verdict, words in _WORDED.items():
        if any(re.search(rf"(?<![a-z]){re.escape(word)}(?![a-z])", said) for word in words):
            return Judgement(verdict, None, None, (f"The tester says: {said[:60]}.", WITH_WHAT))
    return None
