"""The found state: its photos can be put right until they are locked, by hand or by the first change, and never afterwards.

The fingerprint is SHA-256 (FIPS 180-4), reckoned here once more with `hashlib`.
"""

import hashlib
import uuid
from pathlib import Path
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs import verification
from jobs.models import EntryKind, FoundState, Job, Moment, Photo, Stage
from jobs.queries.photos import fold, moments_open, state_of
from jobs.services import estimates, log
from jobs.services.photos import PhotoFacts, add_photo, bring_back, change_photo, lock_found_state, set_aside
from shop.acts import Refused, Stale
from shop.append_only import create_triggers, drop_triggers
from shop.clock import now
from shop.pictures import read_picture
from tests.builders import a_fit, a_job, a_staff, author, position_of
from tests.conftest import StillClock
from tests.jobs.pictures import a_picture
from tests.jobs.sent import sent_form

pytestmark = pytest.mark.django_db


def a_photo(job: Job, designator: str = "", shade: int = 0, **facts: Any) -> Photo:
    picture = read_picture(a_picture(size=(40 + shade, 30)), "front.png", 10**7)
    place = position_of(job, designator) if designator else None
    return add_photo(job, picture, person=a_staff(), at=now(), position=place, **facts)


def lock(job: Job) -> FoundState:
    seen = fold(photo.digest for photo in job.photos.filter(moment="found", set_aside_at=None).order_by("pk"))  # type: ignore[attr-defined]
    return lock_found_state(job, person=a_staff(), at=now(), seen=seen)


@pytest.fixture
def job(still_clock: StillClock, db: None) -> Job:
    return a_job(Stage.REPAIRING)


class TestLocking:
    def test_the_first_part_fitted_locks_the_photos_as_found(self, job: Job) -> None:
        photos = [a_photo(job, shade=shade) for shade in range(3)]
        a_photo(job, moment=Moment.WORK)
        entry = a_fit(job)
        locked = job.found_state  # type: ignore[attr-defined]
        files = [hashlib.sha256(Path(photo.image.path).read_bytes()).hexdigest() for photo in photos]
        assert locked.digest == hashlib.sha256("".join(files).encode()).hexdigest()
        assert (locked.photo_count, locked.by_change, locked.at, locked.person) == (3, entry.seq, entry.at, entry.person)

    def test_the_second_part_changes_nothing_of_it(self, job: Job) -> None:
        a_photo(job)
        first = a_fit(job)
        a_fit(job, "C3", override_reason="to look at the bench", override_by=a_staff("owner", "owner"))
        assert [one.by_change for one in FoundState.objects.all()] == [first.seq]

    def test_without_a_photo_it_is_locked_as_empty(self, job: Job) -> None:
        a_fit(job)
        assert FoundState.objects.get().photo_count == 0
        with pytest.raises(Refused, match="A photo that comes now shows the set during the work, or when it was done"):
            a_photo(job, moment=Moment.FOUND)
        assert a_photo(job).moment == Moment.WORK

    def test_what_was_found_wired_locks_nothing_and_rewiring_does(self, job: Job) -> None:
        place = position_of(job, "R1")
        found = log.record_wiring(job, "R1 hangs on the wrong lug", author(), position=place)
        log.record_note(job, "dusty", author())
        assert not FoundState.objects.exists()
        entry = log.record_wiring(job, "R1 is back on its own lug", author(), position=place, corrects=found)
        assert FoundState.objects.get().by_change == entry.seq

    def test_a_wiring_finding_put_right_at_inspection_locks_nothing(self, db: None) -> None:
        early = a_job(Stage.INSPECTING)
        place = position_of(early, "R1")
        found = log.record_wiring(early, "R1 hangs on the wrong lug", author(), position=place)
        log.record_wiring(early, "R1 hangs on no lug at all", author(), position=place, corrects=found)
        assert not FoundState.objects.exists()

    def test_a_refused_fitting_locks_nothing(self, job: Job) -> None:
        a_photo(job)
        with pytest.raises(Refused), transaction.atomic():
            a_fit(job, count=99)
        assert not FoundState.objects.exists()

    def test_by_hand_it_needs_photos_and_sight_of_them(self, job: Job) -> None:
        with pytest.raises(Refused, match="No photo shows the set as it was found. Take photos first, then lock them."):
            lock(job)
        a_photo(job)
        with pytest.raises(Stale, match="A photo came or went since you opened the page. Look at them again, then lock them."):
            lock_found_state(job, person=a_staff(), at=now(), seen="another")
        assert (lock(job).photo_count, FoundState.objects.get().by_change) == (1, None)
        with pytest.raises(Stale, match="The found state was locked on 2 March 2026, 09:30 by bench already."):
            lock(job)

    def test_after_a_change_nobody_locks_by_hand(self, job: Job) -> None:
        """As in a job that was worked on before found states were locked."""
        a_fit(job)
        drop_triggers(connection)
        FoundState.objects.all().delete()
        create_triggers(connection)
        with pytest.raises(Refused, match="A part went in or came out already"):
            lock(job)
        with pytest.raises(Refused, match="ended with the first part that went in"):
            a_photo(job, moment=Moment.FOUND)

    def test_the_database_itself_refuses_to_change_a_lock(self, job: Job) -> None:
        a_photo(job)
        lock(job)
        for change in (lambda: FoundState.objects.update(photo_count=9), lambda: FoundState.objects.all().delete()):
            with pytest.raises(DatabaseError), transaction.atomic():
                change()

    def test_it_costs_a_fit_one_small_query_once_it_is_locked(self, job: Job) -> None:
        a_fit(job)
        with CaptureQueriesContext(connection) as asked:
            log.take_out(job.entries.get(kind=EntryKind.FITTED), "hums", author(), scrap=False)  # type: ignore[attr-defined]
        assert sum("foundstate" in query["sql"] for query in asked) == 1


class TestAtOnce:
    """A photo comes in while another process waits to fit a part. The job's row says who is first, not the clocks."""

    def test_a_lock_is_never_older_than_a_photo_that_it_holds(self, job: Job, still_clock: StillClock) -> None:
        began = now()
        still_clock.forward(seconds=2)
        late = a_photo(job)
        assert a_fit(job, at=began).at < late.at
        locked = FoundState.objects.get()
        assert (locked.photo_count, locked.at) == (1, late.at)
        assert verification.found_states().differences == ()

    def test_a_photo_waits_for_the_job_before_it_looks_at_the_lock(self, job: Job) -> None:
        with CaptureQueriesContext(connection) as asked:
            a_photo(job)
        said = [query["sql"] for query in asked]
        waited = next(at for at, sql in enumerate(said) if 'FROM "jobs_job"' in sql)
        looked = next(at for at, sql in enumerate(said) if "foundstate" in sql)
        assert waited < looked
        assert ("FOR UPDATE" in said[waited]) == connection.features.has_select_for_update


class TestBeforeTheLock:
    def test_caption_position_and_moment_are_put_right(self, job: Job) -> None:
        photo = a_photo(job, caption="underside")
        change_photo(photo, PhotoFacts(" C2 from below ", position_of(job, "C2"), "work"), seen=state_of(photo))
        photo.refresh_from_db()
        assert (photo.caption, str(photo.position), photo.moment) == ("C2 from below", "C2", Moment.WORK)
        change_photo(photo, PhotoFacts("", None, "found"), seen=state_of(photo))

    def test_of_two_who_change_one_photo_the_second_is_told(self, job: Job) -> None:
        photo = a_photo(job)
        seen = state_of(photo)
        change_photo(photo, PhotoFacts("from above"), seen=seen)
        with pytest.raises(Stale, match="Somebody else changed this photo since you opened it. Compare, then send yours again."):
            change_photo(photo, PhotoFacts("from below"), seen=seen)

    def test_one_sent_in_error_is_set_aside_and_brought_back(self, job: Job) -> None:
        photo = a_photo(job)
        with pytest.raises(Refused, match="Say why the photo is set aside"):
            set_aside(photo, "  ", person=a_staff(), at=now(), seen=state_of(photo))
        aside = set_aside(photo, "shows another set", person=a_staff(), at=now(), seen=state_of(photo))
        assert (aside.set_aside_why, aside.set_aside_by, aside.set_aside_at) == ("shows another set", a_staff(), now())
        with pytest.raises(Refused, match="This photo was set aside. Bring it back first."):
            change_photo(aside, PhotoFacts("x"), seen=state_of(aside))
        bring_back(aside)
        photo.refresh_from_db()
        assert (photo.set_aside_at, photo.set_aside_by, photo.set_aside_why) == (None, None, "")

    def test_one_set_aside_is_none_of_the_found_state(self, job: Job) -> None:
        a_photo(job)
        wrong = a_photo(job, shade=1)
        set_aside(wrong, "blurred", person=a_staff(), at=now(), seen=state_of(wrong))
        assert lock(job).photo_count == 1
        with pytest.raises(Refused, match="The found state of .* was locked on"):
            bring_back(wrong)

    def test_a_position_of_another_set_is_refused(self, job: Job) -> None:
        photo = a_photo(job)
        with pytest.raises(Refused, match="That position is none of this set's"):
            change_photo(photo, PhotoFacts("x", position_of(a_job(), "C2")), seen=state_of(photo))


class TestAfterTheLock:
    def test_nothing_of_its_photos_changes(self, job: Job) -> None:
        photo = a_photo(job, caption="underside")
        lock(job)
        because = (
            f"The found state of {job.number} was locked on 2 March 2026, 09:30, and nothing of its photos changes since. "
            "Write what there is to say into the log."
        )
        for change in (
            lambda: change_photo(photo, PhotoFacts("other words"), seen=state_of(photo)),
            lambda: set_aside(photo, "blurred", person=a_staff(), at=now(), seen=state_of(photo)),
        ):
            with pytest.raises(Refused) as refused:
                change()
            assert refused.value.message == because
        photo.refresh_from_db()
        assert (photo.caption, photo.set_aside_at) == ("underside", None)

    def test_a_later_photo_says_that_it_came_later(self, job: Job) -> None:
        a_photo(job)
        lock(job)
        assert moments_open(job) == [Moment.WORK, Moment.DONE]
        later = a_photo(job)
        assert later.moment == Moment.WORK
        with pytest.raises(Refused, match="was locked on 2 March 2026, 09:30"):
            change_photo(later, PhotoFacts("x", None, "found"), seen=state_of(later))
        change_photo(later, PhotoFacts("C2 is in", position_of(job, "C2"), "work"), seen=state_of(later))


class TestWhatTheCustomerHasSeen:
    """A version that was sent shows the photos of its findings: nothing may come to them or go from them any more."""

    @pytest.fixture
    def sent(self, job: Job) -> Photo:
        photo = a_photo(job, "C3", caption="the can is bulged")
        note = log.record_note(job, "the can is bulged", author(), position=position_of(job, "C3"))
        estimates.send(estimates.draft_from(job, note, person=a_staff(), at=now()), person=a_staff(), at=now())
        return photo

    def test_its_photo_stays_as_it_was_sent(self, job: Job, sent: Photo) -> None:
        for change in (
            lambda: change_photo(sent, PhotoFacts("fine", None), seen=state_of(sent)),
            lambda: set_aside(sent, "blurred", person=a_staff(), at=now(), seen=state_of(sent)),
        ):
            with pytest.raises(Refused, match="of the estimate went to the customer with the photos of C3 as they were"):
                change()
        assert verification.estimates().differences == ()

    def test_no_photo_taken_before_is_given_to_its_position(self, job: Job, sent: Photo, still_clock: StillClock) -> None:
        other = a_photo(job)
        with pytest.raises(Refused, match="with the photos of C3 as they were"):
            change_photo(other, PhotoFacts("", position_of(job, "C3")), seen=state_of(other))
        still_clock.forward(minutes=5)
        later = a_photo(job)
        change_photo(later, PhotoFacts("", position_of(job, "C3")), seen=state_of(later))
        assert verification.estimates().differences == ()


class TestVerify:
    def test_what_is_whole_has_no_differences(self, job: Job) -> None:
        a_photo(job)
        a_photo(job, shade=1)
        a_fit(job)
        assert (verification.photos().counted, verification.photos().differences) == (2, ())
        assert (verification.found_states().counted, verification.found_states().differences) == (1, ())

    def test_a_changed_file_and_a_missing_one_are_told(self, job: Job) -> None:
        changed, gone = a_photo(job, caption="front"), a_photo(job, caption="back")
        with Path(changed.image.path).open("ab") as file:
            file.write(b"more")
        gone.image.storage.delete(str(gone.image.name))
        told = verification.photos().differences
        assert told[0].startswith(f"photo “front” of {job.number}, kept 2026-03-02 09:30, fingerprint: kept {changed.digest}")
        assert told[1] == (
            f"photo “back” of {job.number}, kept 2026-03-02 09:30, has no file in the shop's folder: {gone.image.name}"
        )

    def test_a_photo_put_among_the_locked_ones_is_told(self, job: Job, still_clock: StillClock) -> None:
        a_photo(job)
        lock(job)
        still_clock.forward(days=1)
        late = a_photo(job, shade=1)
        Photo.objects.filter(pk=late.pk).update(moment=Moment.FOUND)
        told = verification.found_states().differences
        assert told[0] == f"photos in the found state of {job.number}: kept 1, derived 2"
        assert told[1].startswith(f"fingerprint of the found state of {job.number}: kept ")
        assert told[2] == f"the found state of {job.number} holds a photo that came after it was locked"


class TestPages:
    def test_it_is_asked_before_it_is_locked(self, colleague_client: Client, job: Job) -> None:
        a_photo(job, "C2")
        page = colleague_client.get(reverse("jobs:found_lock", args=[job.pk]))
        assert f"Lock the found state of {job.number}?" in page.content.decode()
        values = sent_form(page, "seen")
        for _ in range(2):
            assert colleague_client.post(reverse("jobs:found_lock", args=[job.pk]), values).status_code == 302
        locked = FoundState.objects.get()
        grid = colleague_client.get(reverse("jobs:photos", args=[job.pk])).content.decode()
        assert "Found state locked" in grid
        assert locked.digest in grid
        assert "as it was found</option>" not in grid

    def test_where_there_is_nothing_to_lock_the_page_says_so(self, colleague_client: Client, job: Job) -> None:
        answer = colleague_client.get(reverse("jobs:found_lock", args=[job.pk]))
        assert answer.status_code == 409
        assert f"The found state of {job.number} can&#x27;t be locked now." in answer.content.decode()
        colleague_client.post(reverse("jobs:found_lock", args=[job.pk]), {"once": str(uuid.uuid4()), "seen": "x"})
        assert not FoundState.objects.exists()

    def test_a_form_from_before_the_lock_is_told(self, colleague_client: Client, job: Job) -> None:
        values = sent_form(colleague_client.get(reverse("jobs:photos", args=[job.pk])), "moment")
        assert values["moment"] == Moment.FOUND
        a_photo(job)
        lock(job)
        answer = colleague_client.post(reverse("jobs:photos", args=[job.pk]), {**values, "photos": a_picture()})
        assert answer.context["form"].errors["moment"] == [
            "The found state is locked, so a photo shows the set during the work, or when it was done. Choose one of the two."
        ]

    def test_a_position_says_when_nothing_shows_how_the_set_came(self, colleague_client: Client, job: Job) -> None:
        page, words = reverse("jobs:position", args=[position_of(job, "C2").pk]), "Nothing shows how this set came in."
        assert words in colleague_client.get(page).content.decode()
        a_photo(job, moment=Moment.WORK)
        assert words in colleague_client.get(page).content.decode()
        a_photo(job, "C2")
        shown = colleague_client.get(page).content.decode()
        assert words not in shown
        assert "Photos of C2, 1" in shown

    def test_after_the_first_part_a_position_no_longer_asks(self, colleague_client: Client, job: Job) -> None:
        a_fit(job)
        page = colleague_client.get(reverse("jobs:position", args=[position_of(job, "C2").pk])).content.decode()
        assert "Nothing shows how this set came in." not in page

    def test_a_stranger_locks_nothing(self, stranger_client: Client, job: Job) -> None:
        a_photo(job)
        address = reverse("jobs:found_lock", args=[job.pk])
        assert stranger_client.post(address).headers["Location"].startswith(reverse("login"))
        assert not FoundState.objects.exists()
