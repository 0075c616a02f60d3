"""Recording a bench test: judged at once, kept for ever, and only from the right instrument."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile as SimpleFile

from jobs.bench.models import Attempt
from jobs.bench.reads import stored_trace
from jobs.flow.models import Job
from shop.catalogue.actions import issue_plan
from shop.instruments.actions import calibrate
from shop.workshop.reads import at, now, today
from tests.conftest import TRACES, Api, House
from tests.plans import document
from tests.rows import codes, nothing_changes, pointers, said, send, sentences
from tests.walk import Walk, ok


def test_it_works(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")

    body = ok(walk.trace(), 201)

    assert (body["verdict"], body["phase"]) == ("within", "final")
    assert stored_trace(Attempt.objects.get()) == (TRACES / "creep_0p02.csv").read_text()


@pytest.mark.parametrize(("name", "verdict"), [("creep_0p10", "outside"), ("short_noisy", "inconclusive")])
def test_it_keeps_a_verdict_that_then_stops_the_sign_off(
    house: House, api: dict[str, Api], name: str, verdict: str
) -> None:
    walk = Walk(house, api).to("testing")
    walk.tests()
    assert ok(walk.trace(name, why="The hose moved."), 201)["verdict"] == verdict

    with nothing_changes():
        answer = walk.sign()

    assert sentences(answer) == [f"Intermediate pressure at 200 bar: the verdict is {verdict}."]


def test_it_lets_a_later_attempt_count_where_the_plan_says_last(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")
    walk.tests()
    ok(walk.trace("creep_0p10", why="The hose moved."), 201)
    ok(walk.trace("creep_0p02", why="The filter was seated anew."), 201)

    ok(walk.sign(), 201)

    assert Attempt.objects.filter(key="intermediate_pressure").count() == 3


def test_it_asks_why_where_a_verdict_counts_already(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk, why = Walk(house, api).to("testing"), "The gauge <stood> crooked."
    page = f"/jobs/{walk.job}/tests/low_supply"
    assert "Why it is done again" not in said(pages["technician"].get(page), 200)
    ok(walk.reading("low_supply", "10.4"), 201)

    with nothing_changes():
        answer = walk.reading("low_supply", "9.42")
        sent = {"phase": "final", "reading": "9.42", "unit": "bar"}
        gauge = {"instrument": str(house.instruments["pressure logger"].uid)}
        refused = send(pages["technician"], page, sent | gauge)
    assert sentences(answer) == [
        "Lock-up at 50 bar: an attempt final counts already, outside. Say why it is done again."
    ]
    assert answer.json()["errors"][0]["pointer"] == "/why_again"
    assert sentences(answer)[0] in said(refused)
    assert "Why it is done again" in said(pages["technician"].get(page), 200)

    assert ok(walk.reading("low_supply", "9.42", why=why), 201)["why_again"] == why
    assert [row.why_again for row in Attempt.objects.order_by("pk")] == ["", why]
    assert why in said(pages["technician"].get(f"/jobs/{walk.job}"), 200)
    ok(walk.move("rebuilding", reason="The spring sat askew."))
    walk.steps("rebuilding")
    ok(walk.move("testing"))
    ok(walk.reading("low_supply", "9.42"), 201)  # the earlier ones no longer count


def test_it_judges_a_typed_reading(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")

    assert ok(walk.reading("low_supply", "9.42"), 201)["verdict"] == "within"
    assert ok(walk.reading("low_supply", "10.4", why="Read anew."), 201)["verdict"] == "outside"
    assert ok(walk.reading("low_supply", "10.000", why="Read anew."), 201)["verdict"] == "inconclusive"
    assert ok(walk.reading("low_supply", "136.6", "psi", why="Read anew."), 201)["verdict"] == "within"


def test_it_refuses_an_instrument_of_another_kind(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")
    gauge = house.instruments["low-pressure gauge"]
    data = {"phase": "final", "instrument": str(gauge.uid), "reading": "9.4", "unit": "bar"}

    with nothing_changes():
        answer = api["technician"].post(f"jobs/{walk.job}/tests/low_supply", data)

    assert sentences(answer) == ["Lock-up at 50 bar needs a pressure logger; MG-1 is a low-pressure gauge."]


def test_it_refuses_an_instrument_out_of_calibration(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")

    with nothing_changes(), at(now() + timedelta(days=401)):
        answer = walk.reading("low_supply", "9.42")

    assert codes(answer) == ["not-calibrated"]


def test_it_takes_a_reading_on_the_last_day_of_a_calibration(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")

    with at(now() + timedelta(days=400)):
        ok(walk.reading("low_supply", "9.42"), 201)


def test_it_refuses_a_final_test_before_testing_and_every_reason_with_it(
    house: House, api: dict[str, Api]
) -> None:
    walk = Walk(house, api).to("rebuilding")
    wrench = house.instruments["torque wrench"]
    data = {"phase": "final", "instrument": str(wrench.uid), "reading": "9.4", "unit": "bar"}

    with nothing_changes():
        answer = api["technician"].post(f"jobs/{walk.job}/tests/low_supply", data)

    assert codes(answer) == ["wrong-leg", "wrong-instrument", "unreadable"]


@pytest.mark.parametrize(
    "reading",
    ["nine", "1e400", "-1e-400", "NaN", "Infinity", "9,4", "9.4 bar", "٩", "0x9", "9" * 40, "."],
)
def test_it_refuses_a_reading_that_is_no_plain_number(
    house: House, api: dict[str, Api], reading: str
) -> None:
    walk = Walk(house, api).to("testing")

    with nothing_changes():
        assert codes(walk.reading("low_supply", reading)) == ["unreadable"]


@pytest.mark.parametrize(
    ("key", "reading", "unit", "sentence"),
    [
        ("low_supply", "-9.42", "bar", "Lock-up at 50 bar cannot be below zero: -9.42 was typed."),
        ("supply_drop", "-0.01", "bar", "Supply pressure lost in a minute, valve shut cannot be below zero: "
         "-0.01 was typed."),
        ("supply_drop", "-1", "psi", "Supply pressure lost in a minute, valve shut cannot be below zero: "
         "-1 was typed."),
    ],
)  # fmt: skip
def test_it_refuses_a_reading_below_zero(
    house: House, api: dict[str, Api], key: str, reading: str, unit: str, sentence: str
) -> None:
    walk = Walk(house, api).to("testing")

    with nothing_changes():
        answer = walk.reading(key, reading, unit)

    assert codes(answer) == ["below-zero"]
    assert sentences(answer) == [sentence]
    assert answer.json()["errors"][0]["pointer"] == "/reading"


def test_it_takes_zero_and_a_reading_below_zero_where_the_plan_expects_one(
    house: House, api: dict[str, Api]
) -> None:
    walk = Walk(house, api).to("testing")
    assert ok(walk.reading("supply_drop", "0"), 201)["verdict"] == "within"
    made = document()
    made["tests"][2]["bounds"][0]["low"] = "-0.5"
    lead, model = house.people["lead"], house.models["first_stage"]
    Job.objects.update(plan_version=issue_plan(by=lead, model=model, key="overhaul", document=made))

    assert ok(walk.reading("supply_drop", "-0.2", why="By another plan."), 201)["verdict"] == "within"
    assert ok(walk.reading("supply_drop", "-0.7", why="By another plan."), 201)["verdict"] == "outside"


def test_it_keeps_the_last_day_of_the_calibration_that_covered_the_test(
    house: House, api: dict[str, Api]
) -> None:
    walk = Walk(house, api).to("testing")
    logger, day = house.instruments["pressure logger"], today()
    later, last = day + timedelta(days=200), day + timedelta(days=900)
    calibrate(by=house.people["lead"], instrument=logger, certificate="C-2", done_on=later, good_to=last)

    body = ok(walk.reading("low_supply", "9.42"), 201)

    assert body["calibrated_to"] == str(day + timedelta(days=400))


@pytest.mark.parametrize("unit", ["N_m", ""])
def test_it_refuses_a_reading_in_a_unit_of_another_kind(house: House, api: dict[str, Api], unit: str) -> None:
    walk = Walk(house, api).to("testing")

    with nothing_changes():
        assert codes(walk.reading("low_supply", "9.4", unit)) == ["unreadable"]


@pytest.mark.parametrize(
    ("content", "status"),
    [
        (b"", 400),
        (b"\xff\xfe\x00", 409),
        (b"hello", 409),
        (b"t_s,p_bar\n", 409),
        (b"t_s,p_bar\n1,2\n", 409),
        (b"t_s,p_bar\n0,nan\n1,inf\n2,1e400\n", 409),
        (b"t_s,p_bar\n0,\x00\n", 409),
        (b"t_s,p_bar\n" + b"0,1\n" * 5000, 409),
    ],
)
def test_it_refuses_a_file_that_is_no_trace(
    house: House, api: dict[str, Api], tmp_path: Any, content: bytes, status: int
) -> None:
    walk = Walk(house, api).to("testing")
    path = tmp_path / "trace.csv"
    path.write_bytes(content)
    instrument = str(house.instruments["pressure logger"].uid)

    with path.open("rb") as file, nothing_changes():
        data = {"phase": "final", "instrument": instrument, "trace": file}
        answer = api["technician"].post(
            f"jobs/{walk.job}/tests/intermediate_pressure", data, format="multipart"
        )

    found = set(codes(answer, status))
    assert found <= ({"unreadable-trace"} if status == 409 else {"invalid", "empty"}), answer.content
    assert found


def test_it_refuses_a_reading_where_a_trace_is_asked_and_the_other_way_round(
    house: House, api: dict[str, Api]
) -> None:
    walk = Walk(house, api).to("testing")

    with nothing_changes():
        typed = walk.reading("intermediate_pressure", "9.4")
        traced = walk.trace(key="low_supply")
        neither = api["technician"].post(
            f"jobs/{walk.job}/tests/low_supply",
            {"phase": "final", "instrument": str(house.instruments["pressure logger"].uid)},
        )

    assert sentences(typed) == ["Intermediate pressure at 200 bar takes a trace and nothing else."]
    assert sentences(traced) == ["Lock-up at 50 bar takes a reading and nothing else."]
    assert codes(neither) == ["wrong-input"]


def test_it_refuses_a_trace_sent_as_text_in_json(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")
    text = (TRACES / "flat.csv").read_text()
    data = {"phase": "final", "instrument": str(house.instruments["pressure logger"].uid), "trace": text}

    with nothing_changes():
        answer = api["technician"].post(f"jobs/{walk.job}/tests/intermediate_pressure", data)

    assert pointers(answer) == ["/trace"]


def test_it_judges_another_file_under_the_same_key_never_by_the_first(
    house: House, api: dict[str, Api]
) -> None:
    walk = Walk(house, api).to("testing")
    path, key = f"jobs/{walk.job}/tests/intermediate_pressure", "one-key"
    given = {"phase": "final", "instrument": str(house.instruments["pressure logger"].uid)}

    def send(name: str) -> Any:
        file = SimpleFile("purge.csv", (TRACES / f"{name}.csv").read_bytes())
        return api["technician"].post(path, given | {"trace": file}, key=key, format="multipart")

    first, again, other = send("creep_0p02"), send("creep_0p02"), send("creep_0p10")

    assert (first.status_code, again.status_code, other.status_code) == (201, 201, 422)
    assert again["Idempotent-Replay"] == "true"
    assert Attempt.objects.count() == 1


def test_it_keeps_a_second_file_of_a_page_apart_from_the_first(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api).to("testing")
    path = f"/jobs/{walk.job}/tests/intermediate_pressure"
    given = {"phase": "final", "instrument": str(house.instruments["pressure logger"].uid), "once": "k"}

    def send(name: str) -> Any:
        content = (TRACES / f"{name}.csv").read_bytes()
        return pages["technician"].post(path, given | {"trace": SimpleFile("purge.csv", content)})

    assert send("creep_0p02").status_code == 302
    with nothing_changes():
        assert "This form was sent before with other words" in said(send("creep_0p10"), 422)


def test_it_leads_on_to_the_next_test_and_then_to_the_sign_off(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api).to("testing")
    first = ok(walk.trace("short_noisy"), 201)

    page = said(pages["technician"].get(f"/attempts/{first['uid']}"), 200)
    assert f'href="/jobs/{walk.job}/tests/low_supply">Next: ' in page

    walk.tests()
    page = said(pages["technician"].get(f"/attempts/{first['uid']}"), 200)
    assert "Next: " not in page
    assert f'href="/jobs/{walk.job}/sign-off"' in page
    assert f'href="/jobs/{walk.job}/sign-off"' not in said(
        pages["counter"].get(f"/attempts/{first['uid']}"), 200
    )


def test_it_offers_the_units_in_which_the_limit_can_be_read(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api).to("testing")

    page = said(pages["technician"].get(f"/jobs/{walk.job}/tests/low_supply"), 200)

    offered = re.findall(
        r'<option value="([A-Za-z0-9_]+)"', page.partition('id="unit"')[2].partition("</select>")[0]
    )
    assert offered == ["kPa", "bar", "mbar", "psi", "inH2O", "cmH2O"]
