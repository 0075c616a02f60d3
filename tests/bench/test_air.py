"""An analysis of the air of a compressor, on a laboratory's certificate, through the doors and onto the record."""

import json
from typing import Any

import pytest
from django.core.management import call_command

from jobs.bench.models import Attempt
from jobs.signoff.models import SignOff
from tests.bench.test_figures import brought
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said
from tests.walk import Walk, ok

EN = "EN 12021, 2014"
SHEET = {
    "table": EN, "where": "compressor outlet", "oxygen": "20.9", "co": "1", "co2": "420", "oil": "0.1", "water": "18",
    "odour": "no odour",
}  # fmt: skip
LABORATORY = {"station": "Aldermouth Air Laboratory", "certificate": "AAL-77"}


@pytest.fixture
def compressor(house: House, api: dict[str, Api]) -> Walk:
    return brought(house, api, "compressor", "compressor_air", "air analyser", "percent", "0.1")


def tried(walk: Walk, figures: dict[str, str], **source: str) -> Any:
    given = {"phase": "final", "figures": figures} | (source or LABORATORY)
    return walk.api["technician"].post(f"jobs/{walk.job}/tests/air", given)


def test_it_works(compressor: Walk, capsys: pytest.CaptureFixture[str], pages: dict[str, Any]) -> None:
    found = ok(tried(compressor, SHEET), 201)
    assert (found["verdict"], found["station"], found["certificate"]) == ("within", *LABORATORY.values())
    page = said(pages["technician"].get(f"/attempts/{found['uid']}"), 200)
    for text in (
        "at most 25 mg/m³", "20 to 22 %", "EN 12021 (read in pages about it, not in the text itself), 2014",
        "By certificate AAL-77 of Aldermouth Air Laboratory.", "Sampled at", "compressor outlet",
        "Without a limit here, in EN 12021, 2014 and in the plan: hydrocarbons, dew point.",
    ):  # fmt: skip
        assert text in page, text

    call_command("bench", "recompute")
    assert "none would differ" in capsys.readouterr().out
    ok(compressor.sign(), 201)
    (test,) = json.loads(SignOff.objects.get().record)["tests"]
    assert {limit["edition"] for limit in test["result"]["limits"]} == {"2014"}
    assert (test["certificate"], dict(test["typed"])["Published table and edition"]) == ("AAL-77", EN)


def test_it_is_outside_by_one_figure(compressor: Walk) -> None:
    found = ok(tried(compressor, SHEET | {"co": "5.1"}), 201)
    assert found["verdict"] == "outside"
    sentence = found["result"]["decisions"]["carbon monoxide"]["sentence"]
    assert sentence == "Carbon monoxide 5.1 ppm is outside: limit at most 5 ppm, judged by the value alone."
    with nothing_changes():
        assert compressor.sign().status_code == 409


def test_it_takes_our_own_analyser_in_the_place_of_a_certificate(compressor: Walk) -> None:
    analyser = str(compressor.house.instruments["air analyser"].uid)
    assert ok(tried(compressor, SHEET, instrument=analyser), 201)["verdict"] == "within"
    assert Attempt.objects.get().instrument_id


def test_it_refuses_with_every_reason(compressor: Walk) -> None:
    with nothing_changes():
        answer = tried(compressor, {"where": "cylinder", "oxygen": "a lot"}, station="A laboratory")
        assert codes(answer) == ["certificate-missing", "bad-figure", "bad-figure"]
