"""The few invoices on which something is open, so that a page of the day need not reckon all of them."""

from typing import ClassVar

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies: ClassVar = [("billing", "0004_papers_and_payments_by_day")]

    operations: ClassVar = [
        migrations.CreateModel(
            name="OpenAccount",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("due_minor", models.BigIntegerField()),
                (
                    "invoice",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="open_account", to="billing.invoice"
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("due_minor", 0), _negated=True), name="an_open_account_is_open")
                ],
            },
        ),
    ]
