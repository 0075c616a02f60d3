"""A logger sends chunks: each is kept once and in order, and the end is judged as an uploaded file would be."""

from typing import Any

import pytest

from jobs.bench.models import Attempt
from jobs.bench.reads import stored_trace
from jobs.live.models import Chunk, Logging
from tests.conftest import TRACES, Api, House
from tests.printed import text_of
from tests.rows import codes, nothing_changes, pointers, said, send, sentences
from tests.walk import Walk, ok

HEADING, *LINES = (TRACES / "creep_0p02.csv").read_text().splitlines()
KEY = "intermediate_pressure"


class Logger:
    """A logger that sends the lines of a trace by API."""

    def __init__(self, walk: Walk, role: str = "technician"):
        self.walk, self.api = walk, walk.api[role]
        logger = walk.house.instruments["pressure logger"]
        self.given = {"phase": "final", "instrument": str(logger.uid)}

    def begin(self, **more: Any) -> Any:
        return self.api.post(f"jobs/{self.walk.job}/tests/{KEY}/loggings", self.given | more)

    def begun(self, **more: Any) -> "Logger":
        self.uid = ok(self.begin(**more), 201)["uid"]
        return self

    def send(self, n: int, lines: list[str], role: str = "") -> Any:
        api = self.walk.api[role] if role else self.api
        return api.put(f"loggings/{self.uid}/chunks/{n}", {"samples": "\n".join(lines)})

    def play(self, lines: list[str] = LINES, size: int = 60) -> "Logger":
        for n, start in enumerate(range(0, len(lines), size), start=1):
            ok(self.send(n, lines[start : start + size]))
        return self

    def end(self, **data: Any) -> Any:
        return self.api.post(f"loggings/{self.uid}/end", data)

    def throw_away(self, reason: str = "The hose came off.", role: str = "") -> Any:
        api = self.walk.api[role] if role else self.api
        return api.post(f"loggings/{self.uid}/throw-away", {"reason": reason})


@pytest.fixture
def walk(house: House, api: dict[str, Api]) -> Walk:
    return Walk(house, api).to("testing")


def test_it_works(walk: Walk) -> None:
    """It ends as the file would have."""
    ok(walk.trace(), 201)
    logger = Logger(walk).begun(why_again="Now live.").play()

    body = ok(logger.end(chunks=7), 201)

    assert (body["verdict"], body["phase"]) == ("within", "final")
    assert ok(logger.api.get(f"loggings/{logger.uid}"))["attempt"] == body["uid"]
    file, live = Attempt.objects.order_by("pk")
    assert stored_trace(live) == (TRACES / "creep_0p02.csv").read_text()
    assert (live.result, live.picture, bytes(live.trace)) == (file.result, file.picture, bytes(file.trace))
    assert (live.instrument, live.done_by, live.verdict) == (file.instrument, file.done_by, file.verdict)


def test_it_draws_what_has_come_and_says_when_it_is_enough(walk: Walk, pages: dict[str, Any]) -> None:
    logger, page = Logger(walk).begun(), pages["technician"]
    drawn = f"/loggings/{logger.uid}/drawn"
    assert "Waiting for the first samples" in said(page.get(drawn), 200)

    ok(logger.send(1, LINES[:20]))
    assert "There are 20 readable samples; at least 30 are needed." in said(page.get(drawn), 200)
    ok(logger.send(2, LINES[20:60]))
    early = said(page.get(drawn), 200)
    assert "Not enough yet" in early
    assert "Measure at least" in early
    assert 'class="trace-line"' in early
    ok(logger.send(3, LINES[60:]))
    late = said(page.get(drawn), 200)
    assert "<b>Enough:</b> so far within." in late
    assert "95 % interval 0.01" in late.replace("\xa0", " ")


def test_it_answers_nothing_while_nothing_new_came(walk: Walk, pages: dict[str, Any]) -> None:
    logger, page = Logger(walk).begun().play(LINES[:60]), pages["technician"]
    drawn = f"/loggings/{logger.uid}/drawn"

    assert page.get(drawn, {"have": "open 1"}).status_code == 204
    assert page.get(drawn, {"have": "open 0"}).status_code == 200
    ok(logger.throw_away())
    assert 'data-have="thrown away 1"' in said(page.get(drawn, {"have": "open 1"}), 200)


def test_it_keeps_a_chunk_once_however_often_it_is_sent(walk: Walk) -> None:
    logger = Logger(walk).begun().play(LINES[:60], size=30)

    with nothing_changes():
        again, end = ok(logger.send(1, LINES[:30])), ok(logger.send(2, LINES[30:60]))
        other = logger.send(2, LINES[31:60])
        beyond = logger.send(4, LINES[60:90])
        none = logger.send(0, LINES[60:90])

    assert (again["samples"], end["samples"]) == (30, 60)
    assert sentences(other) == ["Chunk 2 has come already with other samples; what has come stands."]
    assert sentences(beyond) == ["Chunk 3 has not come yet: send it first, then go on in order."]
    assert codes(none) == ["chunk-missing"]


def test_it_refuses_nonsense_with_all_its_reasons_and_no_more_than_it_can_hold(walk: Walk) -> None:
    logger = Logger(walk).begun().play(LINES[:60])
    row = Logging.objects.get()

    with nothing_changes():
        nonsense = logger.send(2, ["30,nan", "x", "31,9.5"])
        early = logger.send(2, ["29.5,9.5"])
        huge = logger.send(2, [f"{n},9.5" for n in range(30, 15_000)])
        millions = logger.send(2, [f"{n},9.5" for n in range(30, 300_000)])
    assert sentences(nonsense) == ["Line 2: 'nan' is not a number.", "Line 3 has 1 columns, not 2: 'x'."]
    assert sentences(early) == ["Its first time, 29.5 s, is not after 29.5 s, where chunk 1 ends."]
    assert pointers(huge) == ["/samples"]
    assert millions.status_code in (400, 413)

    Chunk.objects.create(logging=row, n=2, lines=b"", samples=200_000, size=1, last_s=30.0, at=row.at)
    with nothing_changes():
        full = logger.send(3, ["31,9.5"])
    assert sentences(full) == ["A logging holds at most 200000 samples and 10 MB: end it."]


def test_it_ends_once_and_then_takes_nothing_more(walk: Walk) -> None:
    logger = Logger(walk).begun().play()
    ok(logger.end(), 201)

    with nothing_changes():
        assert sentences(logger.end()) == ["This logging is ended already."]
        assert codes(logger.throw_away()) == ["logging-closed"]
        assert sentences(logger.send(8, ["200,9.5"])) == ["This logging is ended; nothing is added to it."]
        ok(logger.send(1, LINES[:60]))  # whoever missed the answer is told that it is there
    assert Attempt.objects.count() == 1


def test_it_says_when_chunks_are_missing_at_the_end(walk: Walk) -> None:
    logger = Logger(walk).begun()
    with nothing_changes():
        assert codes(logger.end()) == ["nothing-logged"]
    logger.play(LINES[:120])

    with nothing_changes():
        assert sentences(logger.end(chunks=7)) == [
            "2 chunks have come and 7 were sent: send what is missing, then end it."
        ]


def test_it_refuses_at_the_end_what_a_file_would_be_refused_for(walk: Walk) -> None:
    logger = Logger(walk).begun().play(LINES[:20])

    with nothing_changes():
        answer = logger.end()

    assert codes(answer) == ["unreadable-trace"]
    ok(logger.send(2, LINES[20:]))
    ok(logger.end(), 201)


def test_it_does_not_count_what_was_measured_before_the_job_went_back(walk: Walk) -> None:
    logger = Logger(walk).begun().play()
    ok(walk.move("rebuilding", reason="The yoke was loose."))
    walk.steps("rebuilding")
    ok(walk.move("testing"))

    with nothing_changes():
        answer = logger.end()

    assert sentences(answer) == [
        "The job went back a leg since this logging began: throw it away and measure anew."
    ]
    ok(logger.throw_away("Measured before it was tightened."))
    Logger(walk).begun()


def test_it_has_one_open_logging_of_a_test(walk: Walk) -> None:
    logger = Logger(walk).begun()

    with nothing_changes():
        assert codes(Logger(walk, "inspector").begin()) == ["logging-open"]
    ok(logger.throw_away())
    Logger(walk, "inspector").begun()
    assert [row.state for row in Logging.objects.order_by("pk")] == ["thrown away", "open"]


def test_it_asks_why_where_a_verdict_came_to_count_meanwhile(walk: Walk, pages: dict[str, Any]) -> None:
    logger = Logger(walk).begun().play()
    ok(walk.trace("creep_0p10"), 201)
    page = f"/loggings/{logger.uid}/end"

    with nothing_changes():
        assert codes(logger.end()) == ["why-again"]
        assert "Why it is done again" in said(send(pages["technician"], page, {}))
    send(pages["technician"], page, {"why_again": "The file was of another hose."})

    assert [row.why_again for row in Attempt.objects.order_by("pk")] == ["", "The file was of another hose."]
    with nothing_changes():
        assert codes(Logger(walk).begin()) == ["why-again"]


def test_it_refuses_to_begin_for_every_reason(walk: Walk) -> None:
    gauge = walk.house.instruments["low-pressure gauge"]

    with nothing_changes():
        wrong = Logger(walk).begin(phase="as received", instrument=str(gauge.uid), columns="t_s,p_mbar,v_l")
        none = walk.api["technician"].post(f"jobs/{walk.job}/tests/low_supply/loggings", Logger(walk).given)
        unknown = walk.api["technician"].post(f"jobs/{walk.job}/tests/none/loggings", Logger(walk).given)
        counter = Logger(walk, "counter").begin()

    assert codes(wrong, wrong.status_code)[:2] in (["wrong-leg", "wrong-instrument"], ["invalid_choice"])
    assert codes(none) == ["nothing-to-log"]
    assert codes(unknown) == ["no-such-test"]
    assert counter.status_code == 403


def test_it_takes_chunks_only_from_whoever_began(walk: Walk) -> None:
    logger = Logger(walk).begun().play()

    with nothing_changes():
        assert codes(logger.send(8, ["200,9.5"], role="inspector")) == ["another's"]
        assert logger.send(8, ["200,9.5"], role="counter").status_code == 403
        assert logger.throw_away(role="counter").status_code == 403
    inspector = walk.api["inspector"]
    ok(inspector.post(f"loggings/{logger.uid}/end", {}), 201)
    row = Attempt.objects.get()
    assert (row.done_by.name, row.recorded_by.name) == ("Ines Okafor", walk.house.people["inspector"].name)


def test_it_shows_what_was_thrown_away_and_why(walk: Walk, pages: dict[str, Any]) -> None:
    logger, page = Logger(walk).begun().play(LINES[:60]), pages["technician"]
    assert "being logged" in said(page.get(f"/jobs/{walk.job}"), 200)

    ok(logger.throw_away("The hose came off."))

    shown = said(page.get(f"/jobs/{walk.job}"), 200)
    assert "The hose came off." in shown
    assert "thrown away" in shown
    assert "The hose came off." in said(page.get(f"/loggings/{logger.uid}"), 200)


def test_it_stands_on_the_bench_sheet_and_the_record_though_it_is_no_attempt(
    walk: Walk, pages: dict[str, Any]
) -> None:
    """Of the round that the sheet is of, with the reason; what ended is an attempt there already."""
    technician = walk.api["technician"]

    def sheet() -> str:
        return text_of(technician.get(f"jobs/{walk.job}/bench-sheet.pdf").content)

    assert "no attempt Intermediate" not in sheet()
    Logger(walk).begun().play(LINES[:60]).throw_away("The hose came off.")
    logger = Logger(walk).begun().play()
    assert "not ended 361 samples" in sheet()
    ok(logger.end(), 201)

    text = sheet()
    assert (
        "Logged, and no attempt Intermediate pressure at 200 bar, final thrown away: The hose came off."
        in text
    )
    assert "60 samples, BG-3, Ines Okafor, " in text
    assert "not ended" not in text

    walk.steps("testing")
    walk.tests(but=KEY)
    signed = ok(walk.sign(), 201)
    (kept,) = signed["record"]["loggings"]
    assert (kept["state"], kept["reason"], kept["samples"]) == ("thrown away", "The hose came off.", 60)
    assert "thrown away</span> The hose came off." in said(
        pages["technician"].get(f"/records/{signed['uid']}"), 200
    )
    paper = text_of(technician.get(f"records/{signed['uid']}/record.pdf").content)
    assert "thrown away: The hose came off. 60 samples" in paper
    ok(walk.move("testing", reason="The gauge was doubted.", role="inspector"))
    assert "The hose came off." not in sheet()
