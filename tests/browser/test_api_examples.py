"""The examples of the API, run as they stand on the page against a live server; each prints what the page says."""

import html
import os
import re
import subprocess
from pathlib import Path

import pytest
from django.test import Client

from shop.staff.actions import make_token
from shop.staff.rules import Can
from tests.conftest import House
from tests.rows import said

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
RIGHTS = [str(can) for can in (Can.SEE, Can.KEEP_CUSTOMERS, Can.CHECK_IN, Can.BRING_IN)]


def test_it_works(house: House, site: str, tmp_path: Path) -> None:
    lead = Client()
    lead.force_login(house.people["lead"])
    page = lead.get("/help/api").content.decode()
    blocks = re.findall(
        r'<pre class="script"[^>]* aria-label="([^"]+): ([^"]+)">\n(.*?)</pre>', page, re.DOTALL
    )
    scripts = {title: html.unescape(text) for title, what, text in blocks if what == "commands"}
    answers = {title: html.unescape(text) for title, what, text in blocks if what != "commands"}
    script = "\n".join(f"echo '== {title}'\n{text}" for title, text in scripts.items())
    _, token = make_token(by=house.people["lead"], label="examples", scopes=RIGHTS, days=1)

    done = subprocess.run(
        ["bash", "-c", f"set -euo pipefail\n{script}"],
        env=os.environ | {"SITE": site, "TOKEN": token},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=120,
    )

    assert done.returncode == 0, done.stdout + done.stderr
    _, *printed = re.split(r"^== (.*)\n", done.stdout, flags=re.MULTILINE)
    found = dict(zip(printed[::2], printed[1::2], strict=True))
    assert {title: text for title, text in found.items() if text} == answers
    assert list(found) == list(scripts)
    assert len(answers) == 5


def test_it_is_found_from_every_page_of_help_and_from_the_tokens(house: House) -> None:
    client = Client()
    client.force_login(house.people["counter"])

    for address in ("/help/counter", "/help/first-steps", "/tokens"):
        assert 'href="/help/api"' in said(client.get(address), 200), address
