"""The Office's page of letters."""

from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from typing import Any

from django.conf import settings
from django.shortcuts import get_object_or_404
from django.urls import path

from shop.post.models import Letter
from shop.post.rules import Purpose
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import Page


class Letters(Page):
    template, room = "reminders/letters.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE_LETTERS)
        return {
            "to_files": settings.SMTP is None,
            "letters": Letter.objects.defer("body").order_by("-pk")[:200],
        }


class OneLetter(Page):
    template, room = "reminders/letter.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE_LETTERS)
        row = get_object_or_404(Letter, uid=kwargs["uid"])
        message = message_from_bytes(bytes(row.body), EmailMessage, policy=default)
        shown = row.purpose != Purpose.SIGN_IN  # its link lets whoever reads it in
        body = message.get_body(("plain",))  # an order has files beside its text
        text = (
            body.get_content() if shown and body else "Only its reader is shown the text of a sign-in letter."
        )
        return {"letter": row, "text": text, "to": message["To"], "to_files": settings.SMTP is None}


urlpatterns = [
    path("office/letters", Letters.as_view(), name="letters"),
    path("office/letters/<uuid:uid>", OneLetter.as_view(), name="letter"),
]
