"""The API's door to the signing keys."""

from typing import Any

from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.signing import actions
from shop.signing.models import SigningKey
from shop.signing.reads import key_list
from shop.signing.shapes import ChangeKeyIn, SigningKeyOut, SigningKeysOut
from shop.staff.reads import require
from shop.staff.rules import Can


class SigningKeys(Door):
    @reads(SigningKeysOut)
    def get(self, request: Request) -> Any:
        """The public keys that closed records are signed with, the retired ones too."""
        require(self.by, Can.SEE)
        return key_list()

    @verb(ChangeKeyIn, SigningKeyOut, creates=True)
    def post(self, request: Request, data: Any) -> SigningKey:
        """Retire the present key and make another; what was signed before stays signed."""
        return actions.change_key(by=self.by, **data)


urlpatterns = [path("signing-keys", SigningKeys.as_view(), name="signing_keys")]
