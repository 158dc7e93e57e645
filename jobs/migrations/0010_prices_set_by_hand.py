"""The few entries of which somebody set the price, so that their list need not walk the log."""

from typing import ClassVar

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies: ClassVar = [("jobs", "0009_claims_of_earlier_jobs")]

    operations: ClassVar = [
        migrations.AddIndex(
            "logentry",
            models.Index(fields=["id"], name="priced_by_hand", condition=models.Q(("usual_price_minor__isnull", False))),
        ),
    ]
