"""One shop answering measurements, in a process of its own: lines of JSON in and out. `SHOP_FOLDER` says which shop."""

import gc
import json
import os
import resource
import sys
from collections.abc import Callable
from time import process_time
from typing import Any

SHEET_ROWS = 200


class Shop:
    """Signed in as the owner; everything is asked through the framework's own client."""

    def __init__(self) -> None:
        from django.conf import settings
        from django.test import Client

        from shop.models import Staff

        settings.ALLOWED_HOSTS = ["testserver"]
        self.client = Client(raise_request_exception=False)
        self.client.force_login(Staff.objects.get(username="owner"))
        self.pairs: dict[str, tuple[Callable[[], Any], Callable[[], Any]]] = {}
        self.works: dict[str, Callable[[], Any]] = {}

    def pages(self) -> dict[str, Any]:
        """Pages that sum up the house show the night's counts, as on any day: so they are counted before, if not lately."""
        from shop.clock import now
        from shop.models import Tally
        from shop.tallies.keeping import GOOD_FOR
        from shop.works.daily_round import go_round
        from tests.speed.whole_shop.addresses import pages

        if not Tally.objects.filter(is_whole=True, counted_at__gt=now() - GOOD_FOR).exists():
            go_round()
        found, without = pages()
        return {"pages": [(one.name, one.address) for one in found], "without": without}

    def look(self, address: str) -> dict[str, Any]:
        """Once, to warm up: the answer's number, how many questions the database was asked, whether it is a list."""
        from django.db import connection
        from django.test.utils import CaptureQueriesContext, setup_test_environment, teardown_test_environment

        from tests.speed.whole_shop.lists import pairs_of

        self._as_at_first(address)
        self.client.get(address)
        setup_test_environment()
        try:
            with CaptureQueriesContext(connection) as asked:
                answer = self.client.get(address)
        finally:
            teardown_test_environment()
        table = _table_of(answer)
        rows = len(table.paginated_rows) if table is not None else 0
        if rows:
            pairs = pairs_of(table, lambda: _read(self.client.get(address)))
            self.pairs |= {f"{what} {address}": pair for what, pair in pairs.items()}
        size = 0 if answer.streaming else len(answer.content)
        return {"status": answer.status_code, "queries": len(asked), "rows": rows, "size": size, "kind": answer["Content-Type"]}

    def _as_at_first(self, address: str) -> None:
        """Lists stand as they were left; where nothing is filtered, each is measured as nobody left it."""
        from shop.models import KeptFilter

        if "q=" not in address:
            KeptFilter.objects.all().delete()

    def time(self, address: str) -> float:
        self._as_at_first(address)
        return _seconds(lambda: _read(self.client.get(address)))

    def compared(self, address: str) -> list[str]:
        """The comparisons that `look` made of a list."""
        return [name.removesuffix(f" {address}") for name in self.pairs if name.endswith(f" {address}")]

    def pair(self, name: str) -> tuple[float, float]:
        """Both sides of a comparison that `look` made, one after the other."""
        first, second = self.pairs[name]
        return _seconds(first), _seconds(second)

    def sheet(self) -> dict[str, Any]:
        """The change-log sheet of 200 positions, made ready for `sheet_times`."""
        from tests.speed.whole_shop.sheet import sheet_works

        self.works, cells = sheet_works(SHEET_ROWS, self.client)
        return {"cells": cells}

    def sheet_times(self) -> dict[str, float]:
        """Seconds of each of the works that `sheet` made, one after the other."""
        return {name: _seconds(work) for name, work in self.works.items()}

    def acts(self, rounds: int) -> list[dict[str, Any]]:
        from tests.speed.whole_shop.acts import measured

        return measured(rounds)

    def memory(self) -> int:
        """The most this process ever took, kilobytes."""
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


def _read(answer: Any) -> None:
    if answer.streaming:
        for _ in answer.streaming_content:
            pass


def _seconds(work: Callable[[], Any]) -> float:
    gc.collect()
    began = process_time()
    work()
    return process_time() - began


def _table_of(answer: Any) -> Any:
    context = getattr(answer, "context", None)
    found = context.get("table") if context else None
    return found if hasattr(found, "paginated_rows") and getattr(found, "page", None) else None


def main() -> int:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    import django

    django.setup()
    shop = Shop()
    print(json.dumps("ready"), flush=True)
    for line in sys.stdin:
        word, *rest = json.loads(line)
        try:
            answer = {"answer": getattr(shop, word)(*rest)}
        except Exception as error:
            answer = {"error": f"{type(error).__name__}: {error}"[:300]}
        print(json.dumps(answer), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
