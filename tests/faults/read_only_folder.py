"""The disk under the shop's folder is mounted read-only while the shop is served: what can be read, and what is said.

    .venv/bin/python -m tests.faults.read_only_folder

On a small disk of its own, so it needs the right to mount one. Pages must be shown; signing in, a form, an upload, a copy asked
for on the page and by command must be refused in words; no trace, nothing left half written. Then the disk takes writes again,
and the same form acts once.
"""

import logging
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tests.faults.cut_off import PASSWORD, READ_ONLY
from tests.faults.forms_at_once import Stage, filled, scenes, shown_form
from tests.faults.ground import ROOT, differences, say

CANNOT = 2


def mount(*words: str) -> bool:
    return subprocess.run(["mount", *words], capture_output=True).returncode == 0


@contextmanager
def small_disk(place: str) -> Iterator[bool]:
    mounted = mount("-t", "tmpfs", "-o", "size=300m", "tmpfs", place)
    try:
        yield mounted
    finally:
        if mounted:
            subprocess.run(["umount", "--lazy", place], check=True)


def faults(stage: Stage, place: str) -> Iterator[str]:
    from django.core.files.uploadedfile import SimpleUploadedFile
    from django.db import connections
    from django.test import Client
    from django.urls import reverse

    from tests.pictures import a_picture

    client, scene = stage.clients[0], next(one for one in scenes(stage) if one.name == "log a reading")
    form, before = filled(shown_form(client, scene.page, scene.action), scene.typed), scene.made()
    connections.close_all()
    files = names_in(Path(place))
    if not mount("-o", "remount,ro", place):
        yield "the disk can't be made read-only"
        return
    for page in ("/", scene.page, reverse("shop:customers"), reverse("billing:invoices"), reverse("shop:backups")):
        if (answer := client.get(page)).status_code != 200:
            yield f"{page} can't be read: {answer.status_code}"
    photos = reverse("jobs:photos", args=[stage.job.pk])
    picture = SimpleUploadedFile("front.png", a_picture(), "image/png")
    token = shown_form(client, photos, photos)["once"][0]
    yield from told("a form", client.post(scene.action, form))
    yield from told("a photo", client.post(photos, {"once": token, "photos": picture}))
    stranger = Client(raise_request_exception=False)
    yield from told("signing in", stranger.post(reverse("login"), {"username": "owner", "password": PASSWORD}))
    make = reverse("shop:backup_make")
    yield from told("a copy", client.post(make, shown_form(client, reverse("shop:backups"), make)))
    yield from of_commands()
    connections.close_all()
    mount("-o", "remount,rw", place)
    if left := names_in(Path(place)) - files:
        yield f"left behind: {sorted(left)}"
    if (answer := client.post(scene.action, form)).status_code != 302 or scene.made() != before + 1:
        yield f"sent again: {answer.status_code}, {scene.made() - before} times"


def of_commands() -> Iterator[str]:
    for words, code, wanted in ((("backup",), 1, "can't be written"), (("verify",), 0, "0 differences")):
        done = subprocess.run([sys.executable, "manage.py", *words], cwd=ROOT, capture_output=True, text=True)
        said = done.stdout + done.stderr
        if done.returncode != code or wanted not in said.replace("’", "'") or "Traceback" in said:
            yield f"{words[0]}: {done.returncode}, {said[-600:]}"


def told(what: str, answer: Any) -> Iterator[str]:
    if answer.status_code != 503 or READ_ONLY not in answer.content.decode():
        yield f"{what}: {answer.status_code} {(getattr(answer, 'exc_info', None) or ('', ''))[1]!r:.200}"


def names_in(place: Path) -> set[str]:
    return {str(path) for path in place.rglob("*") if not path.name.endswith(".lock")}


def main() -> int:
    with tempfile.TemporaryDirectory(prefix="shop-faults-") as place, small_disk(place) as mounted:
        if not mounted:
            say("A small disk can't be mounted here.")
            return CANNOT
        os.environ |= {"SHOP_FOLDER": place, "DATABASE_URL": "", "DJANGO_SETTINGS_MODULE": "shop.settings"}
        import django
        from django.core.management import call_command

        django.setup()
        call_command("migrate", verbosity=0)
        from django.conf import settings

        logging.disable(logging.CRITICAL)
        settings.ALLOWED_HOSTS = ["testserver"]
        stage = Stage()
        stage.owner.set_password(PASSWORD)
        stage.owner.save()
        stage.clients[0].force_login(stage.owner)
        found = [*faults(stage, place), *differences()]
    say(*(f"{one}\n" for one in found))
    say(f"{len(found)} faults")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
