"""What the environment says, read loudly: a setting that cannot be used stops the start and is named (README.md lists all)."""

import base64
import os
import re
import secrets
import sys
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit


class BadSetting(Exception):
    """A setting in the environment that cannot be used; the message names it."""


def text(name: str, default: str = "") -> str:
    """The environment's EBBWRIGHT_<name>, stripped."""
    return os.environ.get(f"EBBWRIGHT_{name}", default).strip()


def flag(name: str) -> bool:
    """A 0/1 setting; anything else is refused loudly."""
    value = text(name, "0")
    if value not in {"0", "1"}:
        raise BadSetting(f"EBBWRIGHT_{name} must be 0 or 1, not {value!r}")
    return value == "1"


def address(name: str, *schemes: str) -> Any:
    """A URL setting split in its parts, or None when it is not set; may hold a password, so none is repeated."""
    value = text(name)
    if not value:
        return None
    try:
        parts = urlsplit(value)
    except ValueError:
        parts = urlsplit("")
    if parts.scheme not in schemes or not parts.hostname:
        raise BadSetting(f"EBBWRIGHT_{name} must look like {schemes[0]}://host:port")
    try:
        usable = parts.port != 0
    except ValueError:
        usable = False
    if not usable:
        raise BadSetting(f"EBBWRIGHT_{name} has a port that is not a number from 1 to 65535")
    return parts


def database(data: Path) -> dict[str, Any]:
    """SQLite in the data folder, or the PostgreSQL that the environment names."""
    url = address("DATABASE_URL", "postgresql", "postgres")
    if url is None:
        return {
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": data / "db.sqlite3",
            "OPTIONS": {
                "transaction_mode": "IMMEDIATE",
                "timeout": 20,
                # EXTRA: with FULL a power cut may lose the last acknowledged commit (DEVELOPERS.md, engines).
                # Without recursive triggers INSERT OR REPLACE deletes a row past the append-only triggers.
                "init_command": "PRAGMA journal_mode=DELETE; PRAGMA synchronous=EXTRA; "
                "PRAGMA recursive_triggers=ON; PRAGMA secure_delete=ON;",
            },
        }
    # Nobody waits for a page of these, and a large table takes them longer than any page may take.
    longest_ms = 0 if {*sys.argv[1:2]} & {"migrate", "journal", "backup", "restore", "speed"} else 10_000
    return {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": url.path.lstrip("/"),
        "USER": unquote(url.username or ""),
        "PASSWORD": unquote(url.password or ""),
        "HOST": url.hostname,
        "PORT": url.port or 5432,
        "CONN_MAX_AGE": 60,
        "CONN_HEALTH_CHECKS": True,
        "OPTIONS": {
            "connect_timeout": 3,
            # No query is so long that compiling it pays: of what is owed it took a second and the rest of it two.
            "options": f"-c statement_timeout={longest_ms} -c lock_timeout=8000 -c jit=off",
        },
    }


def mail_server() -> Any:
    """The relay that letters are handed to, or None; it is spoken to without signing in."""
    parts = address("SMTP_URL", "smtp")
    if parts and (parts.username is not None or parts.password is not None):
        raise BadSetting(
            "EBBWRIGHT_SMTP_URL must not hold a user or a password: letters are handed over without signing in, "
            "so name a relay that takes them from this machine"
        )
    return parts


def folder(name: str) -> Path | None:
    """A folder by its whole path, or None; it need not be there yet."""
    value = text(name)
    if value and not Path(value).is_absolute():
        raise BadSetting(f"EBBWRIGHT_{name} must be the whole path of a folder")
    return Path(value) if value else None


def webhook_secret(name: str) -> bytes:
    """The key of a secret as Standard Webhooks 1.0.0 writes it, empty where none is set."""
    value = text(name)
    found = re.fullmatch(r"whsec_([A-Za-z0-9+/]+={0,2})", value)
    try:
        key = base64.b64decode(found[1], validate=True) if found else b""
    except ValueError:
        key = b""
    if value and not 24 <= len(key) <= 64:
        raise BadSetting(f"EBBWRIGHT_{name} must be whsec_ and the base64 of 24 to 64 bytes")
    return key


def fail_point() -> tuple[str, int, str] | None:
    """Where a process of a trial run dies or raises: name, at which passing, which of the two."""
    found = re.fullmatch(r"([a-z-]+):([1-9][0-9]{0,5}):(kill|raise)", text("FAILPOINT"))
    if text("FAILPOINT") and not found:
        raise BadSetting("EBBWRIGHT_FAILPOINT must look like after-commit:3:kill")
    return (found[1], int(found[2]), found[3]) if found else None


def leaves_nothing() -> bool:
    """Whether the command that runs is one for a machine without a workshop: it makes no folder and no key."""
    return sys.argv[1:2] == ["verify_record"]


def data_folder(path: Path) -> Path:
    """The data folder, made where it is missing."""
    if not leaves_nothing():
        path.mkdir(mode=0o700, parents=True, exist_ok=True)
    return path


def secret_key(folder: Path) -> str:
    """The key from the environment, or one made once in the data folder and readable by its owner alone."""
    if given := text("SECRET_KEY"):
        return given
    path = folder / "secret-key"
    if leaves_nothing() and not path.exists():
        return secrets.token_urlsafe(64)
    try:
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
            file.write(secrets.token_urlsafe(64))
    except FileExistsError:
        pass
    return path.read_text()
