"""Puts texts made to hurt into every field of every paper and label, and watches what the program opens meanwhile.

    .venv/bin/python -m tests.faults.hostile_texts --count 2000

Each text goes through one paper on one size of sheet, in turn. An error, a file or an address that is opened while drawing, a
paper that takes longer than a second of the processor, an action or a file within the PDF: each is a fault, and any makes the
exit code 1. (CWE-918 server-side request forgery, CWE-73 file names from outside; ISO 32000-1, 12.6: actions.)
"""

import argparse
import os
import random
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

MOST_SECONDS, TRIES = 1.0, 3
# What Python and the fonts read of their own while drawing; anything else that is opened was born of a text.
OWN_FILES = (".py", ".pyc", ".so", ".ttf", ".toml", ".csv", ".json", ".dat", ".txt", ".mo")
WATCHED = frozenset({"open", "socket.connect", "socket.getaddrinfo", "subprocess.Popen", "os.system", "urllib.Request"})
ACTIVE = (b"/JavaScript", b"/Launch", b"/EmbeddedFile", b"/SubmitForm", b"/GoToR", b"/ImportData", b"/RichMedia", b"/AA ")

TEXTS: tuple[str, ...] = (
    "<img src='file:///etc/passwd'/>", "<img src=\"http://127.0.0.1:9/x.png\" width=10 height=10/>", "<para><b>", "</para>",
    "<a href='file:///etc/passwd'>x</a>", "<link destination='x'>", "<font name='/etc/passwd'>x</font>",
    "<onDraw name='os.system'/>",
    "<unichar code='0x110000'/>", "<seq id='x'/>", "<evalString>", "<bullet>", "<sub><super><sub>", "<![CDATA[x]]>", "<!-- x",
    "&#0;&#x1F600;&amp;&nbsp;&unknown;", "&lt;script&gt;", "<script>alert(1)</script>", "{{ settings.SECRET_KEY }}",
    "{% include '/etc/passwd' %}", "%(x)s %s %n %%", "${jndi:ldap://127.0.0.1:9/x}", "`id`; rm -rf /", "' OR 1=1 --",
    "\\x00\\u0000",
    "\x00\x01\x02\x1b[31m\x7f\x9f", "\u202eabc\u202c\u2066x\u2069",
    "\u200b" * 400, "e" + "\u0301" * 900, "ZA̡͊͠͝LGΌ" * 40, "﷽" * 60,
    "😀👩‍👩‍👧‍👦🏳️‍🌈" * 30, "漢字かな交じり文" * 80, "שלום עולם " * 60, "مرحبا بالعالم " * 60, 
    "\ufeff\ufffe\uffff", "\U0010ffff" * 30, "a" * 200_000, "a " * 100_000, "\n" * 50_000, "\t" * 50_000, "-" * 5_000,
    "W" * 31 + "i" * 31, "=cmd|'/C calc'!A0", "javascript:alert(1)", "data:text/html,<script>x</script>",
    "file:///etc/passwd",
    "https://example.org/" + "a" * 3_000, "http://127.0.0.1:9/<b>",
    ")" * 300, "(" * 300, "\\" * 300, "%PDF-1.7 endobj endstream xref",
    "/JavaScript", "1e999", "-0", "٣٤٥", "½ Ω µF", "a\u2028b\u2029c\u0085d", "", " ", "\u00a0" * 100,
)  # fmt: skip
SURROGATE = "\ud800 half of a pair"


def texts(count: int, rng: random.Random) -> Iterator[str]:
    whole = (*TEXTS, SURROGATE)
    for number in range(count):
        yield whole[number] if number < len(whole) else _mixed(rng, whole)


def _mixed(rng: random.Random, whole: tuple[str, ...]) -> str:
    """Pieces of the hostile ones put together, with letters of every plane between them."""
    pieces = []
    for _ in range(rng.randint(1, 12)):
        one = rng.choice(whole)
        pieces.append(one[: rng.choice([3, 20, 400])] if rng.random() < 0.7 else _any_letters(rng))
    # Longer ones than any field but the terms takes are among the whole ones.
    return "".join(pieces)[:1_000]


def _any_letters(rng: random.Random) -> str:
    planes = (
        (0x20, 0x2FF),
        (0x300, 0x36F),
        (0x370, 0x20FF),
        (0x2100, 0x2BFF),
        (0x3000, 0xD7FF),
        (0xE000, 0xFFFF),
        (0x10000, 0x1FFFF),
    )
    low, high = rng.choice(planes)
    return "".join(chr(rng.randint(low, high)) for _ in range(rng.randint(1, 60)))


class Watch:
    """What is opened between `start` and `stop`, our own files aside."""

    def __init__(self) -> None:
        self.seen: list[str] = []
        self.on = False
        sys.addaudithook(self._hook)

    def _hook(self, event: str, args: tuple[Any, ...]) -> None:
        if self.on and event in WATCHED:
            named = str(args[0]) if args else ""
            if event != "open" or not named.endswith(OWN_FILES):
                self.seen.append(f"{event} {named[:80]}")


def papers() -> list[tuple[str, Any, Any]]:
    """Name, how it is drawn, its data; every paper and label on both sizes of sheet."""
    from tests.paper.matrix import LABELS, PAPERS, SHEETS, on_sheet

    return [(f"{one.name} {sheet}", one.draw, on_sheet(one.sample(), sheet)) for one in (*PAPERS, *LABELS) for sheet in SHEETS]


def faults_of(draw: Any, data: Any, text: str, watch: Watch) -> list[str]:
    """A paper that took long is drawn again: on a busy machine the processor's clock runs fast, so the least time counts."""
    from tests.paper.papers import with_texts

    spoilt, found, took = with_texts(data, text), list[str](), list[float]()
    while len(took) < TRIES and (not took or took[-1] > MOST_SECONDS):
        began, watch.seen, watch.on = time.process_time(), [], True
        try:
            pdf = draw(spoilt)
        except Exception as error:
            return [f"{type(error).__name__}: {error}"]
        finally:
            watch.on = False
            took.append(time.process_time() - began)
        found = [f"opened: {one}" for one in watch.seen] + _in_it(pdf, text)
    return [*found, f"took {min(took):.2f} s"] if min(took) > MOST_SECONDS else found


def _in_it(pdf: bytes, text: str) -> list[str]:
    found = [f"active: {mark.decode()}" for mark in ACTIVE if mark in pdf and mark.decode() not in text]
    return found if pdf.startswith(b"%PDF-") else [*found, "no PDF"]


def run(count: int, seed: int) -> int:
    rng, watch, faults, longest = random.Random(seed), Watch(), list[str](), 0.0
    known = papers()
    for _, draw, data in known:
        draw(data)  # fonts and tables are read once
    for number, text in enumerate(texts(count, rng)):
        name, draw, data = known[(number * 7 + number // len(known)) % len(known)]
        began = time.process_time()
        faults += [f"{name}, {text[:40]!r}: {one}" for one in faults_of(draw, data, text, watch)]
        longest = max(longest, time.process_time() - began)
    for line in faults[:20]:
        print(line)
    print(f"{count} texts on {len(known)} papers, longest {longest:.2f} s of CPU, {len(faults)} faults (seed {seed})")
    return 1 if faults else 0


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=4711)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="shop-texts-") as folder:
        os.environ |= {"SHOP_FOLDER": str(Path(folder)), "DJANGO_SETTINGS_MODULE": "shop.settings"}
        import django

        django.setup()
        return run(asked.count, asked.seed)


if __name__ == "__main__":
    sys.exit(main())
