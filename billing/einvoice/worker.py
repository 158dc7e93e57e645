"""The process that runs schema and schematron, started by `checking`: one JSON object a line in, one a line out.

The rules run outside the shop's own process, as the engine that runs them is native code: it may crash or keep memory.
`{"syntax": "cii", "xml": "..."}` -> `{"findings": [{"rule", "severity", "text"}, ...]}` or `{"fault": "..."}`.
"""

import json
import re
import sys
from functools import cache
from typing import Any

from lxml import etree

from billing.einvoice.rules import RULES, RulesMissing, Syntax, rule_file

SVRL = "{http://purl.oclc.org/dsdl/svrl}"
# Text of a failed rule: `[BR-CO-10]-Sum of Invoice line net amount ...`; some rule files put the id in an attribute, too.
NAMED = re.compile(r"^\s*\[([A-Z0-9-]+)\]\s*-?\s*")
Finding = dict[str, str]


@cache
def schema_of(syntax: Syntax) -> Any:
    return etree.XMLSchema(etree.parse(str(rule_file(RULES[syntax].schema))))


@cache
def processor() -> Any:
    try:
        from saxonche import PySaxonProcessor
    except ImportError as error:
        raise RulesMissing("The package saxonche, which runs the rules of EN 16931, is not installed.") from error
    return PySaxonProcessor(license=False)


@cache
def schematron_of(name: str) -> Any:
    return processor().new_xslt30_processor().compile_stylesheet(stylesheet_file=str(rule_file(name)))


def by_schema(tree: Any, syntax: Syntax) -> list[Finding]:
    schema = schema_of(syntax)
    schema.validate(tree)
    return [{"rule": "schema", "severity": "fatal", "text": f"Line {one.line}: {one.message}"} for one in schema.error_log]


def by_schematron(xml: str, name: str) -> list[Finding]:
    report = schematron_of(name).transform_to_string(xdm_node=processor().parse_xml(xml_text=xml))
    svrl = etree.fromstring(report.encode())
    if svrl.find(f"{SVRL}fired-rule") is None:
        raise RulesMissing("No rule looked at this file: it isn't of the kind that the rules are for.")
    return [_finding(one) for one in svrl.iter(f"{SVRL}failed-assert", f"{SVRL}successful-report")]


def _finding(node: Any) -> Finding:
    text = " ".join("".join(node.itertext()).split())
    named = NAMED.match(text)
    rule = node.get("id") or ""
    if named:
        rule, text = named[1], text[named.end() :]
    return {"rule": rule or "unnamed", "severity": node.get("flag") or node.get("role") or "fatal", "text": text[:600]}


def check(syntax: Syntax, xml: str) -> list[Finding]:
    """Findings of the schema; where it has none, those of the rules, which are written for files that keep the schema."""
    tree = etree.fromstring(xml.encode(), etree.XMLParser(resolve_entities=False, no_network=True))
    return by_schema(tree, syntax) or by_schematron(xml, RULES[syntax].schematron)


def answer(line: str) -> dict[str, Any]:
    try:
        asked = json.loads(line)
        return {"findings": check(asked["syntax"], asked["xml"])}
    except etree.XMLSyntaxError as error:
        return {"findings": [{"rule": "xml", "severity": "fatal", "text": str(error)[:600]}]}
    except Exception as error:  # a fault is told to whoever asked; the next line may be sound
        return {"fault": f"{type(error).__name__}: {error}"[:600]}


def main() -> None:
    for line in sys.stdin:
        print(json.dumps(answer(line)), flush=True)


if __name__ == "__main__":
    main()
