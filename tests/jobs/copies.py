"""Many jobs for a list, cheaply: copies of one that went through the services."""

from jobs.models import Job


def copies_of(job: Job, count: int) -> None:
    names = [field.attname for field in Job._meta.concrete_fields if not field.primary_key]
    values = {name: getattr(job, name) for name in names}
    Job.objects.bulk_create(Job(**{**values, "number": f"{job.number}-{n}"}) for n in range(count))
