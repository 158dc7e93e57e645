"""Two shops asked turn by turn, and what came of it as lines of a table."""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.speed.whole_shop.acts import BLOCK
from tests.speed.whole_shop.addresses import shapes

ROOT = Path(__file__).resolve().parents[3]
LIST_BAR, SHEET_BAR, SIZE_BAR, ACT_BAR = 3.0, 1.5, 1.15, 0.5
# The clock of the processor ticks; what is quicker says nothing about a ratio.
LEAST_SECONDS = 0.002
# Of what is quicker the least of more rounds is taken, as a hiccup of the machine is as long as the page.
QUICK_SECONDS = 0.04
# They write every row that was asked for: their size is the shop's.
FILES_OF_ROWS = ("text/csv", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "application/x-ndjson")
# What a list is compared with; the last says whether anything is asked of it: ready strings cost the other side nothing.
COMPARED = {
    "written": ("the same rows that makes the same cells", True),
    "drawing": ("cells that are ready strings", False),
    "page": ("the same page, rows read the same way", True),
}
Say = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Line:
    """One measurement. `holds` is None where nothing is asked of it; `details` are for who asks what it is made of."""

    what: str
    measured: str
    bar: str
    holds: bool | None
    worse: float = 0.0
    details: tuple[str, ...] = ()


class Asked:
    """A worker of one shop."""

    def __init__(self, folder: Path) -> None:
        env = {**os.environ, "SHOP_FOLDER": str(folder)}
        command = [sys.executable, "-m", "tests.speed.whole_shop.worker"]
        self.process = subprocess.Popen(command, cwd=ROOT, env=env, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        self._answer()

    def _answer(self) -> Any:
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        if not line:
            raise RuntimeError("the shop that is measured ended; see what it said above")
        return json.loads(line)

    def __call__(self, word: str, *rest: Any) -> Any:
        assert self.process.stdin is not None
        self.process.stdin.write(json.dumps([word, *rest]) + "\n")
        self.process.stdin.flush()
        told = self._answer()
        if "error" in told:
            raise LookupError(f"{word} {' '.join(map(str, rest))}: {told['error']}")
        return told["answer"]

    def close(self) -> None:
        assert self.process.stdin is not None
        self.process.stdin.close()
        self.process.wait(timeout=30)


def lists_and_pages(full: Asked, small: Asked, rounds: int, only: set[str], words: Sequence[str], say: Say) -> Iterator[Line]:
    """Every page at both sizes; of every list its first page, filtered and last. `words`: only pages named with one."""
    here, there = full("pages"), small("pages")
    at_small = dict(there["pages"])
    for name in sorted({*here["without"], *there["without"]}):
        yield Line(f"page {name}", "no row of it in both shops, or a key of another kind", "", None)
    for name, address in here["pages"]:
        if name not in at_small or (words and not any(word in name for word in words)):
            continue
        say(name)
        try:
            yield from _page(full, small, name, address, at_small[name], rounds, only)
        except LookupError as error:
            yield Line(f"page {name}", str(error), "", None)


def _page(full: Asked, small: Asked, name: str, address: str, other: str, rounds: int, only: set[str]) -> Iterator[Line]:
    seen = full("look", address)
    if seen["status"] != 200:
        return
    if seen["kind"].partition(";")[0] in FILES_OF_ROWS:
        yield Line(f"page {name}", f"a file of all the rows there are, {seen['size']:,} bytes", "", None)
        return
    if seen["rows"] and "lists" in only:
        yield from _against_plain(full, name, address, seen["rows"], rounds)
    if "pages" not in only:
        return
    ways = shapes(address) if seen["rows"] else {"": address}
    at_small = shapes(other)
    for way, one in ways.items():
        yield _both_sizes(full, small, f"{name} {way}".strip(), one, at_small[way], rounds)


def _against_plain(full: Asked, name: str, address: str, rows: int, rounds: int) -> Iterator[Line]:
    """What is compared, `lists` says: the same rows in both columns, drawn alone, and read by the same view on the whole page."""
    for what, (words, is_asked) in COMPARED.items():
        if what not in full("compared", address):
            continue
        taken = [full("pair", f"{what} {address}") for _ in range(rounds * 3)]
        ours, plain = min(one[0] for one in taken), min(one[1] for one in taken)
        ratio = ours / plain if plain else 0.0
        said = f"{ratio:.2f} times a plain template of {words} ({rows} rows, {ours * 1000:.1f} to {plain * 1000:.1f} ms)"
        bar, holds = (f"≤ {LIST_BAR:g}", ratio <= LIST_BAR) if is_asked else ("", None)
        yield Line(f"list {name}, {what}", said, bar, holds, ratio / LIST_BAR)


def _both_sizes(full: Asked, small: Asked, name: str, here: str, there: str, rounds: int) -> Line:
    big, little = full("look", here), small("look", there)
    if big["status"] != little["status"] or big["status"] != 200:
        return Line(f"page {name}", f"answers {big['status']} and {little['status']}", "", None)
    times = [(full("time", here), small("time", there)) for _ in range(rounds)]
    if times[0][1] < QUICK_SECONDS:
        times += [(full("time", here), small("time", there)) for _ in range(rounds * 4)]
    ours, least = min(one[0] for one in times), min(one[1] for one in times)
    ratio = ours / max(least, LEAST_SECONDS)
    same = big["queries"] == little["queries"]
    rows = "" if big["rows"] == little["rows"] else f", {big['rows']} and {little['rows']} rows"
    asked = f"{big['queries']} queries" if same else f"{big['queries']} and {little['queries']} queries"
    words = f"{ratio:.2f} times ({ours * 1000:.0f} to {least * 1000:.0f} ms), {asked}{rows}"
    return Line(f"page {name}", words, f"≤ {SIZE_BAR:g}, same queries", ratio <= SIZE_BAR and same, ratio / SIZE_BAR)


def the_sheet(full: Asked, rounds: int) -> Iterator[Line]:
    """Drawing is what the bar is about; reading the log, judging and asking through the client are told apart from it."""
    cells = full("sheet")["cells"]
    full("sheet_times")
    taken = [full("sheet_times") for _ in range(rounds)]
    least = {name: min(one[name] for one in taken) for name in taken[0]}
    for name, against, words, of in (
        ("rows", "plain", "its rows", f"the same {cells} cells"),
        ("drawn", "plain page", "its whole page, drawn", f"the same page: {cells} cells, head, line, sums, forms"),
    ):
        ratio = least[name] / least[against]
        said = f"{ratio:.2f} times a plain template of {of} ({least[name] * 1000:.1f} to {least[against] * 1000:.1f} ms)"
        yield Line(f"change-log sheet of 200 positions, {words}", said, f"≤ {SHEET_BAR:g}", ratio <= SHEET_BAR, ratio / SHEET_BAR)
    read = f"{(least['page'] - least['drawn']) * 1000:.0f} ms of {least['page'] * 1000:.0f} for the page"
    yield Line("change-log sheet of 200 positions, reading and judging", read, "", None)


def the_acts(small: Asked, rounds: int) -> Iterator[Line]:
    for one in small("acts", rounds):
        if not one["rounds"]:
            continue
        share = one["writes_share_clock"]
        words = (
            f"{share:.0%} of the pace of its {one['writes']} writes sent raw, {one['whole_share_clock']:.0%} of all its "
            f"{one['queries']} statements sent raw, by the clock ({_ms(one, 'clock')}); by the processor "
            f"{one['writes_share_cpu']:.0%} and {one['whole_share_cpu']:.0%} ({_ms(one, 'cpu')}); {one['rounds']} pairs of "
            f"{BLOCK} acts in a row"
        )
        yield Line(
            f"act: {one['act']}", words, f"≥ {ACT_BAR:.0%}", share >= ACT_BAR, ACT_BAR / max(share, 0.001), tuple(one["said"])
        )


def _ms(one: dict[str, Any], unit: str) -> str:
    ours, writes, whole = (one[f"{side}_{unit}"] * 1000 for side in ("ours", "writes", "whole"))
    return f"{ours:.1f} ms to {writes:.1f} and {whole:.1f}"
