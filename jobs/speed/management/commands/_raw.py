"""What the queue of a technician is compared with: three plain views that ask the same token and right.

`raw/queue` answers with the columns of the same jobs by one statement; what may keep a job from going on, the reasons and
the order for a person are not in it. `raw/facts` executes every statement of ours again as text and answers with the rows
as they come. `raw/nothing` is one of our doors with nothing behind it.
"""

from typing import Any

from django.http import HttpRequest, JsonResponse
from django.urls import include, path
from rest_framework.request import Request

from jobs.flow.rules import ENDED, Leg
from jobs.queue import reads
from jobs.queue.reads import MOST
from jobs.queue.rules import View
from jobs.speed.management.commands._side_by_side import fetched, recorded
from shop.api.api import Door
from shop.api.api import reads as door
from shop.api.shapes import Nothing
from shop.staff.reads import ScopedTokenAuthentication, require
from shop.staff.rules import Can

OPEN = ", ".join(f"'{leg}'" for leg in Leg if leg not in ENDED)
COLUMNS = [
    "uid", "number", "item", "item_number", "owner", "maker", "model", "drop_off", "plan", "promised_on",
    "promised_why", "leg", "version",
]  # fmt: skip
QUEUE = f"""
SELECT j.uid, j.number, i.uid, i.number, c.name, m.maker, m.name, d.uid, p.uid, j.promised_on, j.promised_why, j.leg,
       j.version
FROM flow_job j JOIN gear_item i ON i.id = j.item_id JOIN customers_customer c ON c.id = i.owner_id
JOIN catalogue_model m ON m.id = i.model_id JOIN flow_dropoff d ON d.id = j.drop_off_id
JOIN catalogue_planversion p ON p.id = j.plan_version_id
WHERE j.technician_id = %s AND j.leg IN ({OPEN}) AND j.leg <> 'signed_off'
ORDER BY j.promised_on, j.id LIMIT {MOST + 1}
"""  # noqa: S608 - legs and a figure of ours


def _asking(request: HttpRequest) -> Any:
    person: Any
    person, _ = ScopedTokenAuthentication().authenticate(Request(request))
    require(person, Can.SEE)
    return person


def queue(request: HttpRequest) -> JsonResponse:
    """The most urgent open jobs of whoever asks."""
    person = _asking(request)
    rows = [dict(zip(COLUMNS, row, strict=True)) for row in fetched(QUEUE, [person.pk])]
    return JsonResponse({"more": len(rows) > MOST, "rows": rows[:MOST]})


_statements: dict[int, list[tuple[str, Any, float]]] = {}


def facts(request: HttpRequest) -> JsonResponse:
    """The rows of the statements that our queue executes for whoever asks."""
    person = _asking(request)
    if person.pk not in _statements:
        _statements[person.pk] = recorded(lambda: reads.queue(person, View.ME)).statements
    return JsonResponse({"rows": [fetched(sql, params) for sql, params, _ in _statements[person.pk]]})


class Empty(Door):
    @door(Nothing, drawn=True)
    def get(self, request: Request) -> Any:
        """Nothing, for whoever may see it."""
        require(self.by, Can.SEE)
        return {}


urlpatterns = [
    path("raw/queue", queue),
    path("raw/facts", facts),
    path("raw/nothing", Empty.as_view()),
    path("", include("shop.urls")),
]
