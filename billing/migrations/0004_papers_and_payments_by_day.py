"""The books of one period are read by day: without these a quarter reads twenty years."""

from typing import ClassVar

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies: ClassVar = [("billing", "0003_uncollected_sales")]

    operations: ClassVar = [
        migrations.AddIndex("invoice", models.Index(fields=["issued_on"], name="papers_by_day")),
        migrations.AddIndex("payment", models.Index(fields=["at"], name="payments_by_moment")),
    ]
