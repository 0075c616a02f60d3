"""The API's door to letters."""

from typing import Any

from django.urls import path
from rest_framework.request import Request

from jobs.reminders.shapes import LetterOut
from shop.api.api import Door, reads
from shop.post.models import Letter
from shop.staff.reads import require
from shop.staff.rules import Can


class Letters(Door):
    @reads(LetterOut, many=True)
    def get(self, request: Request) -> Any:
        """The outbox."""
        require(self.by, Can.SEE_LETTERS)
        return Letter.objects.defer("body")


urlpatterns = [path("letters", Letters.as_view(), name="letters")]
