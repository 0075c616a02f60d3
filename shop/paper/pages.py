"""Plumbing of the pages that are a paper."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse

from shop.paper.api import printed
from shop.paper.rules import Paper, Tags
from shop.web.pages import Page


class PaperPage(Page):
    """An address that shows somebody who may see the paper that `read` makes of a row."""

    @staticmethod
    def read(uid: UUID) -> Paper | Tags:
        """The paper of a row; each address names its own."""
        raise NotImplementedError

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return printed(self.read(kwargs["uid"]))
