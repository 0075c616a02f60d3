"""The public keys, and the private half of the present one where it lies."""

from pathlib import Path
from typing import Any

from django.conf import settings

from shop.signing.models import SigningKey
from shop.workshop.reads import workshop


def private_file(key: str) -> Path:
    """Where the private half of a key lies: in the data folder, readable by its owner alone, and in no backup."""
    path: Path = settings.SIGNING_KEYS / key
    return path


def known_keys() -> dict[str, str]:
    """The public keys of this workshop by their names, the retired ones too."""
    return dict(SigningKey.objects.values_list("key", "public"))


def key_list() -> dict[str, Any]:
    """What the workshop publishes of its keys."""
    house = workshop()
    rows = [
        {
            "number": row.number,
            "key": row.key,
            "public": row.public,
            "made_at": row.made_at.isoformat(timespec="seconds"),
            "retired_at": row.retired_at.isoformat(timespec="seconds") if row.retired_at else None,
        }
        for row in SigningKey.objects.all()
    ]
    return {"workshop": house.name if house else "", "algorithm": "Ed25519", "keys": rows}
