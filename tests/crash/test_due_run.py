"""A due run that is killed between its stages, or before the letters of a batch are committed, loses nothing and tells nobody twice."""

import signal
import subprocess
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings

from jobs.reminders.models import Reminder
from shop.post.models import Letter
from shop.workshop.reads import today
from tests.conftest import House
from tests.crash.rig import PATIENCE_S, PYTHON
from tests.processes import environment
from tests.reminders.test_when import many

COUNT = 120  # more than one batch


def run(folder: Path, failpoint: str) -> int:
    """A run by the command as a process of its own, which sends into a folder; how it ended."""
    given = {"EBBWRIGHT_TRIAL": "1", "EBBWRIGHT_FAILPOINT": failpoint, "EBBWRIGHT_DATA": str(folder)}
    known = {**environment(), "DJANGO_SETTINGS_MODULE": "shop.settings"} | given
    command = [PYTHON, "manage.py", "remind"]
    return subprocess.run(command, env=known, cwd=settings.ROOT, timeout=PATIENCE_S).returncode


@pytest.mark.parametrize(
    ("failpoint", "told"),
    [("after-claims:1:kill", 0), ("letters-written:1:kill", 0), ("letters-written:2:kill", 100)],
)
def test_it_works(house: House, tmp_path: Path, failpoint: str, told: int) -> None:
    many(house, [today() + timedelta(days=n % 9 - 4) for n in range(COUNT)])
    said = Reminder.objects.exclude(letter=None)

    assert run(tmp_path, failpoint) == -signal.SIGKILL
    assert (Reminder.objects.count(), said.count(), Letter.objects.count()) == (COUNT, told, told)

    assert run(tmp_path, "") == 0
    assert set(said.values_list("letter", flat=True)) == set(Letter.objects.values_list("uid", flat=True))
    assert (Reminder.objects.count(), said.count()) == (COUNT, COUNT)
    assert (
        Letter.objects.values("recipient").distinct().count()
        == COUNT
        == len(list(tmp_path.glob("letters/*.eml")))
    )
