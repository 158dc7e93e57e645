"""What `ask --help` prints: every question with what it takes and gives, and an example with its answer."""

import json
from textwrap import fill

from shop.asking.door import answer_line
from shop.asking.verb import Verb
from shop.asking.verbs import VERBS

HEAD = """Each line: {"id": ..., "do": NAME, ...}
Answer:    {"id": ..., "ok": true, "result": {...}}
or         {"id": ..., "ok": false, "error": {"code": CODE, "message": TEXT}}

CODE is unreadable, ambiguous (then "readings" holds the full result of every way to read it), too_long, out_of_range or unknown.
Fields that no question of that name has are listed in the answer as "not_used".
"""
WIDTH = 110


def manual() -> str:
    return "\n".join([HEAD, *(_entry(verb) for verb in VERBS.values())])


def example_line(verb: Verb) -> str:
    return json.dumps({"id": 1, "do": verb.name, **verb.example}, ensure_ascii=False)


def _entry(verb: Verb) -> str:
    line = example_line(verb)
    return "\n".join(
        [
            verb.name,
            _paragraph(f"takes {verb.takes}"),
            _paragraph(f"gives {verb.gives}"),
            f"    {line}",
            f"    {answer_line(line.encode()).decode()}",
            "",
        ]
    )


def _paragraph(text: str) -> str:
    return fill(text, WIDTH, initial_indent="    ", subsequent_indent="        ", break_long_words=False, break_on_hyphens=False)
