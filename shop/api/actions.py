"""`once`: a creating request that arrives twice, or twice at once, is done once."""

import hashlib
import json
from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

from django.core.files import File
from django.db import transaction
from django.utils.crypto import salted_hmac

from shop.api.models import Answer
from shop.workshop.actions import failpoint
from shop.workshop.reads import now

KEPT = timedelta(hours=24)


class KeyReused(Exception):
    """The key came before with another request."""


def digest_of(method: str, path: str, data: Any) -> str:
    """A keyed digest of what a request asks for, passwords among it; a file counts by its bytes."""
    text = json.dumps([method, path, data], sort_keys=True, default=_plain)
    return salted_hmac("once", text, algorithm="sha256").hexdigest()


def _plain(value: Any) -> str:
    if isinstance(value, File):
        return hashlib.sha256(b"".join(value.chunks())).hexdigest()
    return str(value)


def once(by: UUID, key: str, digest: str, act: Callable[[], tuple[int, str]]) -> tuple[int, str, bool]:
    """Run `act` in the outer transaction and keep its (status, body); the third value says "answered before".

    A second caller waits for the first; what `act` raises is not kept, so that a refused request may be sent again.
    Raises KeyReused when the key was used for something else.
    """
    claim = uuid4()
    with transaction.atomic():
        Answer.objects.bulk_create(
            [Answer(person_uid=by, key=key, digest=digest, claim=claim, at=now())], ignore_conflicts=True
        )
        kept = Answer.objects.select_for_update().get(person_uid=by, key=key)
        if kept.claim != claim:
            if kept.digest != digest or kept.status is None:
                raise KeyReused
            return kept.status, kept.body, True
        kept.status, kept.body = act()
        failpoint("before-answer")
        kept.save(update_fields=["status", "body"])
        failpoint("before-commit")
    failpoint("after-commit")
    return kept.status, kept.body, False


def forget_answers() -> int:
    """Delete the answers that are older than KEPT; how many."""
    return Answer.objects.filter(at__lt=now() - KEPT).delete()[0]
