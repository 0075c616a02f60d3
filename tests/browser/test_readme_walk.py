"""The curl script of README, run as it stands there against a live server."""

import os
import re
import subprocess

import pytest

from shop.staff.actions import make_token
from tests.conftest import ROOT, SECRET, House

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_it_works(house: House, site: str) -> None:
    script = re.search(r"```bash\n(.*?)```", (ROOT / "README.md").read_text(), re.DOTALL)
    assert script is not None
    tokens = {
        role.upper(): make_token(by=person, label="walk", scopes=sorted(person.rights), days=1)[1]
        for role, person in house.people.items()
        if role in ("lead", "counter", "technician")
    }
    given = {"SITE": site, "SECRET": SECRET, "SECOND_SECRET": SECRET, **tokens}

    done = subprocess.run(
        ["bash", "-c", script[1]],
        env=os.environ | given,
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=120,
    )

    assert done.returncode == 0, done.stdout + done.stderr
    lines = done.stdout.splitlines()
    assert lines[0] == "95.00 GBP"
    assert "creep 0.01930 bar/min: within" in lines
    assert lines[-2].startswith("signed: serviced, record ")
    assert lines[-1].startswith("next due ")
