"""The queue of a technician as a plain Django view over one statement: what ours is compared with.

It asks the same token and right, and answers with the columns of the same jobs; what may keep a job from going on, the
reasons and the order for a person are not in it.
"""

from typing import Any

from django.http import HttpRequest, JsonResponse
from django.urls import include, path
from rest_framework.request import Request

from jobs.flow.rules import ENDED, Leg
from jobs.queue.reads import MOST
from jobs.speed.management.commands._side_by_side import fetched
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


def queue(request: HttpRequest) -> JsonResponse:
    """The most urgent open jobs of whoever asks."""
    person: Any
    person, _ = ScopedTokenAuthentication().authenticate(Request(request))
    require(person, Can.SEE)
    rows = [dict(zip(COLUMNS, row, strict=True)) for row in fetched(QUEUE, [person.pk])]
    return JsonResponse({"more": len(rows) > MOST, "rows": rows[:MOST]})


urlpatterns = [path("raw/queue", queue), path("", include("shop.urls"))]
