"""The signing keys: what the office sees, and what everybody may take away."""

import json
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse
from django.views import View

from shop.files.reads import attached
from shop.signing import actions
from shop.signing.models import SigningKey
from shop.signing.reads import key_list, private_file
from shop.signing.rules import SHOWS
from shop.signing.shapes import ChangeKeyIn, SigningKeysOut
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page


class SigningKeys(Page):
    template, room = "signing/keys.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        keys = list(SigningKey.objects.all())
        missing = [row for row in keys if row.present and not private_file(row.key).exists()]
        return {"keys": keys, "missing": missing, "shows": SHOWS, "may_keep": self.by.may(Can.KEEP_PEOPLE)}


class ChangeKey(FormPage):
    takes, title, room, button, cancel = (
        ChangeKeyIn, "Change the signing key", "office", "Retire it and make another", "signing_keys",
    )  # fmt: skip
    lead = "What was signed with the present key stays signed; the next record is signed with another."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.change_key(by=self.by, **data)
        return reverse("signing_keys")


class PublishedKeys(View):
    """The public keys as a file, for whoever checks records without asking the workshop."""

    def get(self, request: HttpRequest) -> HttpResponse:
        text = json.dumps(SigningKeysOut(key_list()).data, indent=2)
        return attached(text.encode(), "application/json", "signing-keys.json")


urlpatterns = [
    path("office/signing-keys", SigningKeys.as_view(), name="signing_keys"),
    path("office/signing-keys/change", ChangeKey.as_view(), name="change_key"),
    path("check/keys.json", PublishedKeys.as_view(), name="published_keys"),
]
