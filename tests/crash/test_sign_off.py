"""A sign-off that was answered 201 is whole, whatever is killed; one that was not is not there at all."""

import time
from pathlib import Path

import pytest

from jobs.flow.models import Job
from shop.staff.actions import make_token
from shop.stock.actions import receive
from tests.conftest import SECRET, House, clients
from tests.crash.oracle import left_by_sign_off, wrong_sign_offs
from tests.crash.people import Asked, ask, at_work
from tests.crash.rig import KILLS, Web, chance, tell
from tests.walk import Walk, ok

AT_RANDOM, AT_A_POINT = KILLS // 12, KILLS // 60  # the second for each of three points
A_ROUND = 2
LONGEST_S = 0.5


def jobs_to_sign(house: House, count: int) -> list[str]:
    """Jobs whose tests are all within."""
    for number, lot in house.lots.items():
        if number == lot.part.number:
            house.lots[number] = receive(
                by=house.people["storekeeper"],
                part=lot.part,
                number=f"{number}-B",
                cured="2Q26",
                quantity=900,
            )
    api = clients(house.people)
    jobs = []
    for n in range(count):
        walk = Walk.__new__(Walk)
        walk.house, walk.api, walk.item = house, api, house.item(serial=f"S-{n}")
        line = {"item": str(walk.item.uid), "plan": str(house.plans["first_stage"].uid), "contents": "no gas"}
        data = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}
        made = ok(api["counter"].post("drop-offs", data), 201)
        walk.drop_off, walk.job = made["uid"], made["lines"][0]["job"]
        walk.to("testing").tests()
        jobs.append(walk.job)
    return jobs


def sign_offs(house: House, jobs: list[str]) -> list[Asked]:
    """A sign-off for each job, by the technician before the inspector's eyes."""
    token = make_token(by=house.people["technician"], label="bench", scopes=["see", "sign off"], days=1)[1]
    data = {"outcome": "serviced", "secret": SECRET, "second": str(house.people["inspector"].uid)}
    data |= {"second_secret": SECRET}
    seen = dict(Job.objects.values_list("uid", "version"))
    return [
        Asked(f"jobs/{row.uid}/sign-offs", token, data, seen=seen[row.uid])
        for row in Job.objects.filter(uid__in=jobs).order_by("pk")
    ]


def test_it_works(house: House, tmp_path: Path) -> None:
    rng, seed = chance("sign-off")
    jobs = jobs_to_sign(house, 1 + A_ROUND * AT_RANDOM)
    first, *rest = sign_offs(house, jobs)
    before = left_by_sign_off(jobs[0])
    web = Web(tmp_path)
    killed = 0
    try:
        ask(web.port, first)
        whole = left_by_sign_off(jobs[0])
        assert (first.status, first.tries, whole[0][0], whole[3], whole[4]) == (201, 1, "signed_off", 1, 1)
        for n in range(0, len(rest), A_ROUND):
            work, wait = rest[n : n + A_ROUND], rng.uniform(0, LONGEST_S)

            def kill(wait: float = wait) -> None:
                time.sleep(wait)
                nonlocal killed
                killed += web.kill_one(rng)

            at_work(web.port, work, kill)
            waiting = jobs[1 + n + A_ROUND :]
            assert wrong_sign_offs(work, waiting, whole, before) == [], (
                f"EBBWRIGHT_SEED={seed}, kill {killed}"
            )
    finally:
        web.stop()

    assert killed == AT_RANDOM
    tell(f"{killed} kills at any moment, {len(rest)} sign-offs")


@pytest.mark.parametrize("point", ["before-answer", "before-commit", "after-commit"])
def test_it_loses_and_halves_and_doubles_nothing_when_killed_at(
    point: str, house: House, tmp_path: Path
) -> None:
    """Each process dies at its second sign-off."""
    _, seed = chance(point)
    jobs = jobs_to_sign(house, 2 + 2 * AT_A_POINT)
    first, *work = sign_offs(house, jobs)
    before = left_by_sign_off(jobs[0])
    web = Web(tmp_path, failpoint=f"{point}:2:kill", WEB_CONCURRENCY="1")
    try:
        ask(web.port, first)
        whole = left_by_sign_off(jobs[0])
        for n, each in enumerate(work, start=2):
            ask(web.port, each)
            assert wrong_sign_offs([each], jobs[n:], whole, before) == [], f"EBBWRIGHT_SEED={seed}"
        deaths = web.deaths
    finally:
        web.stop()

    assert deaths >= AT_A_POINT
    assert sum(each.tries > 1 for each in work) == deaths
    tell(f"{deaths} kills {point}, {len(work)} sign-offs")
