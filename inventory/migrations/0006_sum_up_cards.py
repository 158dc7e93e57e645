"""What lies of every lot and part, from the balances."""

from typing import Any

from django.db import migrations
from django.db.models import OuterRef, Subquery, Sum
from django.db.models.functions import Coalesce


def sum_up(apps: Any, schema_editor: Any) -> None:
    Balance = apps.get_model("inventory", "Balance")
    of_lot = Balance.objects.filter(lot=OuterRef("pk")).order_by().values("lot")
    of_part = Balance.objects.filter(lot__part=OuterRef("pk"), lot__owner=None).order_by().values("lot__part")

    def summed(balances: Any, column: str) -> Coalesce:
        return Coalesce(Subquery(balances.annotate(sum=Sum(column)).values("sum")), 0)

    apps.get_model("inventory", "Lot").objects.update(on_hand=summed(of_lot, "on_hand"))
    parts = apps.get_model("inventory", "Part").objects
    parts.update(on_hand=summed(of_part, "on_hand"), held=summed(of_part, "held"))


class Migration(migrations.Migration):
    dependencies = [("inventory", "0005_sums_on_cards_and_indexes")]

    operations = [migrations.RunPython(sum_up, migrations.RunPython.noop)]
