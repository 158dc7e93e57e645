"""Jobs that named the job they came back from are claims on its warranty, where it had one."""

from typing import Any

from django.db import migrations
from django.utils import timezone


def claim(apps: Any, schema_editor: Any) -> None:
    warranties = dict(apps.get_model("jobs", "Warranty").objects.values_list("job_id", "pk"))
    known = apps.get_model("jobs", "Claim")
    # Where the table of claims was there before this ran, somebody may have written the claim already.
    unclaimed = apps.get_model("jobs", "Job").objects.filter(warranty_of__warranty__isnull=False, claim__isnull=True)
    for job in unclaimed.iterator():
        known.objects.create(
            job=job,
            warranty_id=warranties[job.warranty_of_id],
            claimed_on=timezone.localdate(job.taken_in_at),
            at=job.taken_in_at,
            person_id=job.taken_in_by_id,
        )


class Migration(migrations.Migration):
    dependencies = [("jobs", "0008_claims_forecasts_and_uncollected_sets")]
    operations = [migrations.RunPython(claim, migrations.RunPython.noop)]
