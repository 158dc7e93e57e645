"""Shops keep the promise they gave: work and used parts as the one time said that stood for all, used valves as valves."""

from typing import Any

from django.db import migrations
from django.db.models import F


def copy(apps: Any, schema_editor: Any) -> None:
    apps.get_model("shop", "Profile").objects.update(
        labour_warranty_days=F("warranty_days"),
        used_part_warranty_days=F("warranty_days"),
        used_valve_warranty_days=F("valve_warranty_days"),
    )


class Migration(migrations.Migration):
    dependencies = [("shop", "0004_warranty_terms_and_data_requests")]
    operations = [migrations.RunPython(copy, migrations.RunPython.noop)]
