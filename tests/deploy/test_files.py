"""What lies in deploy/ for a server that stays: every setting explained, nothing that a check would refuse, no host named."""

import re
import shlex
from typing import Any

import pytest
import yaml

from shop.health.rules import Given, unsafe
from tests.conftest import ROOT

DEPLOY = ROOT / "deploy"
SETTING = re.compile(r'\b(?:text|flag|address|folder|webhook_secret)\("([A-Z_]+)"')
LINE = re.compile(r"#?([A-Z_]+)=(.*)")
UNITS = {path.name: path.read_text() for path in (DEPLOY / "systemd").glob("*.service")}
SERVING = ["ebbwright-web.service", "ebbwright-worker@.service", "ebbwright-beat.service"]
HARD = [
    "NoNewPrivileges=yes", "CapabilityBoundingSet=", "ProtectSystem=strict", "ProtectHome=yes", "PrivateTmp=yes",
    "PrivateDevices=yes", "RestrictAddressFamilies=AF_INET AF_INET6 AF_UNIX", "SystemCallFilter=@system-service",
    "UMask=0077", "User=ebbwright", "EnvironmentFile=/etc/ebbwright/environment",
]  # fmt: skip


def example() -> dict[str, str]:
    """The settings of environment.example with their values, those commented out too."""
    lines = (DEPLOY / "environment.example").read_text().splitlines()
    return {found[1]: found[2] for line in lines if (found := LINE.fullmatch(line))}


def compose() -> Any:
    """The compose file as a document."""
    return yaml.safe_load((DEPLOY / "compose.yaml").read_text())


def test_it_works() -> None:
    told = "".join((ROOT / "shop" / name).read_text() for name in ("settings.py", "environment.py"))
    read = {f"EBBWRIGHT_{name}" for name in SETTING.findall(told)}

    assert {"EBBWRIGHT_DATA", "EBBWRIGHT_HTTPS", "EBBWRIGHT_SMTP_URL"} <= read
    assert {*example()} == read | {"WEB_CONCURRENCY"}


def test_it_explains_every_setting() -> None:
    paragraphs = (DEPLOY / "environment.example").read_text().strip().split("\n\n")[1:]

    assert len(paragraphs) == len(example())
    assert all(len(each.splitlines()) >= 2 and each.startswith("# ") for each in paragraphs)


def test_it_gives_an_example_that_no_check_refuses() -> None:
    """As it stands, on SQLite; and with the servers that it names, once the sender is one's own."""
    given = example()
    stands = Given(base_url=given["EBBWRIGHT_BASE_URL"], https=given["EBBWRIGHT_HTTPS"] == "1")

    assert unsafe(stands) == []
    assert given["WEB_CONCURRENCY"] == "1"
    assert given["EBBWRIGHT_SECRET_KEY"] == ""


@pytest.mark.parametrize("name", sorted(UNITS))
def test_it_hardens_each_unit(name: str) -> None:
    assert [each for each in HARD if each not in UNITS[name].splitlines()] == []


@pytest.mark.parametrize("name", SERVING)
def test_it_checks_the_settings_before_each_service(name: str) -> None:
    lines = UNITS[name].splitlines()
    check = "ExecStartPre=/opt/ebbwright/.venv/bin/python manage.py check --database default"

    assert lines.index(check) + 1 == next(i for i, line in enumerate(lines) if line.startswith("ExecStart="))


def test_it_starts_the_same_in_units_and_containers() -> None:
    """Celery and gunicorn get the same words, but for where they listen and what they are called."""
    started = {
        name: next(
            shlex.split(line)[1:] for line in UNITS[name].splitlines() if line.startswith("ExecStart=")
        )
        for name in SERVING
    }
    services = compose()["services"]
    web = re.search(
        r"^CMD (\[.*\])", (DEPLOY / "Containerfile").read_text().replace("\\\n", ""), re.MULTILINE
    )

    assert started[SERVING[1]][:-2] == services["worker"]["command"][1:]
    assert started[SERVING[2]] == services["beat"]["command"][1:]
    assert web is not None
    assert [each for each in yaml.safe_load(web[1])[1:] if "8710" not in each] == [
        each for each in started[SERVING[0]] if "8710" not in each
    ]


def test_it_names_images_without_a_host_and_listens_here_only() -> None:
    services = compose()["services"]

    assert {name: each["image"] for name, each in services.items()} == {
        "database": "postgres:15", "redis": "redis:7",
    } | dict.fromkeys(["migrate", "web", "worker", "beat"], "ebbwright")  # fmt: skip
    assert [port for each in services.values() for port in each.get("ports", [])] == ["127.0.0.1:8710:8710"]
    assert re.findall(r"^FROM (.*)", (DEPLOY / "Containerfile").read_text(), re.MULTILINE) == [
        "python:3.11-slim-bookworm"
    ]


def test_it_overwrites_what_a_client_says_of_itself() -> None:
    proxy = (DEPLOY / "nginx.conf").read_text()

    assert "proxy_set_header X-Forwarded-For $remote_addr;" in proxy
    assert "proxy_set_header X-Forwarded-Proto https;" in proxy
    assert "proxy_add_x_forwarded_for" not in proxy


def test_it_logs_no_private_link() -> None:
    blocks = re.findall(r"location (.*?) \{(.*?)\n    \}", (DEPLOY / "nginx.conf").read_text(), re.DOTALL)
    answers = dict(blocks)["~ ^/(answer|porthole)/"]

    assert "access_log off;" in answers
    assert "error_log /dev/null crit;" in answers
    assert "proxy_pass http://127.0.0.1:8710;" in answers
    assert "set_header" not in answers, (
        "a header of its own would drop those of the server, X-Forwarded-For among them"
    )
