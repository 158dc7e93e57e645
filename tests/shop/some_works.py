"""Kinds of long work for the tests: they count to a number, and fail or stop on demand."""

import threading

from shop.acts import Refused
from shop.long_work import Kind, Made, Progress
from shop.models import LongWork, Role

counted: list[int] = []
begun, go_on = threading.Event(), threading.Event()


def count(work: LongWork, progress: Progress) -> Made:
    """Writes a line a step; `stop_at` asks for a stop as a person would meanwhile."""
    for number in range(work.asked["to"]):
        if number == work.asked.get("stop_at"):
            LongWork.objects.filter(pk=work.pk).update(stop_asked=True)
        progress.step(number, work.asked["to"])
        progress.file.write(f"{number}\n".encode())
    counted.append(work.pk)
    return Made("Counted to the end.", "numbers.txt")


def refuse(work: LongWork, progress: Progress) -> Made:
    raise Refused("There is nothing to count.")


def break_down(work: LongWork, progress: Progress) -> Made:
    progress.file.write(b"half a file")
    raise RuntimeError("a fault with a secret in it")


def wait(work: LongWork, progress: Progress) -> Made:
    """Says that it began and goes on step by step until it is told to end."""
    begun.set()
    seen = 0
    while not go_on.wait(0.01):
        seen += 1
        progress.step(seen)
    return Made("Waited.")


KINDS = {
    "count": Kind(count, "numbers counted"),
    "refuse": Kind(refuse, "numbers counted"),
    "break": Kind(break_down, "numbers counted"),
    "wait": Kind(wait, "steps gone"),
    "owners": Kind(count, "numbers counted", roles=(Role.OWNER,)),
}
