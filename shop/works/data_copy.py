"""The copy of what is held of a person, as one file: a page to read, data, papers and photos."""

import hashlib
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

from django.conf import settings
from django.db import transaction

from billing import drawn as till
from billing.queries.personal_copy import paper_keys
from jobs.models import Estimate, Photo, SafetyCheck, Warranty
from jobs.queries import drawn
from jobs.queries.personal_copy import jobs_of, photo_name
from shop.acts import Refused
from shop.clock import now, today
from shop.long_work import Made, Progress
from shop.models import Customer, DataRequest, DataRequestKind, LongWork, Profile
from shop.paper.drawn import Drawn
from shop.personal.copying import as_json, counted, data_of, index_page
from shop.personal.explained import explained
from shop.pictures import kept_bytes
from shop.works.zipped import EPOCH

STYLE = Path(settings.BASE_DIR) / "shop/static/shop/css/data_copy.css"
Paper = Callable[[], Drawn]


def draw_copy(work: LongWork, progress: Progress) -> Made:
    """`customer` is the key of whom it is about; `root` the address of the shop, as the codes on papers carry it."""
    customer = Customer.objects.filter(pk=work.asked["customer"]).first()
    if customer is None:
        raise Refused("There is no such customer any more.")
    day = today()
    papers, photos = list(_papers(customer, work.asked["root"])), list(_photos(customer))
    data, files = data_of(customer, day), []
    with zipfile.ZipFile(progress.file, "w", zipfile.ZIP_DEFLATED) as archive:
        for seen, paper in enumerate(papers):
            progress.step(seen, len(papers) + len(photos))
            made = paper()
            files.append(_put(archive, f"papers/{made.name}", made.content))
        for seen, photo in enumerate(photos, len(papers)):
            progress.step(seen, len(papers) + len(photos))
            files.append(_put(archive, photo_name(photo), kept_bytes(photo.image)))
        _put(archive, "data.json", as_json(data))
        _put(archive, "data-explained.txt", explained().encode())
        _put(archive, "page.css", STYLE.read_bytes())
        _put(archive, "index.html", index_page(customer, data, files, Profile.current()))
    progress.step(len(files), len(files))
    _write_down(customer, work, dict(counted(data, files)), _digest(progress))
    return Made(f"The copy holds {len(data['jobs'])} jobs and {len(files)} papers and photos.", "copy-of-your-data.zip")


def _put(archive: zipfile.ZipFile, name: str, content: bytes) -> str:
    kind = zipfile.ZIP_STORED if name.endswith((".jpg", ".pdf")) else zipfile.ZIP_DEFLATED
    archive.writestr(zipfile.ZipInfo(name, EPOCH), content, kind)
    return name


def _papers(customer: Customer, root: str) -> Iterator[Paper]:
    """Each drawn when its turn comes; estimates only as far as they went out."""
    for job in jobs_of(customer):
        yield lambda pk=job.pk: drawn.claim_check(pk, root)  # type: ignore[misc]
        for key in Estimate.objects.filter(job=job, sent_at__isnull=False).order_by("pk").values_list("pk", flat=True):
            yield lambda pk=key: drawn.estimate(pk)  # type: ignore[misc]
        if SafetyCheck.objects.filter(job=job).exists():
            yield lambda pk=job.pk: drawn.safety_sheet(pk)  # type: ignore[misc]
        if Warranty.objects.filter(job=job).exists():
            yield lambda pk=job.pk: till.summary(pk, written_on=today())  # type: ignore[misc]
            yield lambda pk=job.pk: till.warranty(pk, root)  # type: ignore[misc]
    for key in paper_keys(customer):
        yield lambda pk=key: till.invoice(pk, with_payments=True)  # type: ignore[misc]


def _photos(customer: Customer) -> Iterator[Photo]:
    kept = Photo.objects.filter(job__customer=customer).exclude(image="").select_related("job").order_by("pk")
    return (photo for photo in kept if photo.image.storage.exists(str(photo.image.name)))


def _digest(progress: Progress) -> str:
    progress.file.seek(0)
    return hashlib.file_digest(progress.file, "sha256").hexdigest()  # type: ignore[arg-type]


@transaction.atomic
def _write_down(customer: Customer, work: LongWork, given: dict[str, int], digest: str) -> None:
    DataRequest.objects.create(
        customer=customer,
        kind=DataRequestKind.COPY,
        asked_on=today(),
        answer={"given": given},
        digest=digest,
        at=now(),
        person=work.person,
    )
