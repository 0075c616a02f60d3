"""What a supervisor asks without signing in; nothing is told but whether all is well, and which part is not."""

from django.http import HttpRequest, HttpResponse
from django.urls import path
from django.views import View

from shop.health.reads import state
from shop.health.rules import not_ready

PLAIN = "text/plain; charset=utf-8"


class Alive(View):
    def get(self, request: HttpRequest) -> HttpResponse:
        """This process answers; the database is not asked."""
        return HttpResponse("alive\n", content_type=PLAIN)


class Ready(View):
    def get(self, request: HttpRequest) -> HttpResponse:
        """Everything works together, or 503 and a line for each thing that does not."""
        found = not_ready(state())
        said = "".join(f"{sentence}\n" for sentence in found) or "ready\n"
        return HttpResponse(said, status=503 if found else 200, content_type=PLAIN)


urlpatterns = [
    path("health/alive", Alive.as_view(), name="alive"),
    path("health/ready", Ready.as_view(), name="ready"),
]
