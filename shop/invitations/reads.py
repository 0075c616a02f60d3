"""Links that let somebody choose a password."""

from datetime import timedelta

from django.conf import settings
from django.core import signing
from django.urls import reverse
from django.utils.crypto import salted_hmac

from shop.staff.models import Person
from shop.workshop.reads import now, workshop

SALT = "shop.invitations.link"


def workshop_name() -> str:
    """What letters call the workshop."""
    row = workshop()
    return row.name if row else "Ebbwright"


def link_for(person: Person, holds: timedelta) -> str:
    """A link with which somebody chooses a password; it dies once used, when it is old, and when they leave."""
    told = {"person": str(person.uid), "until": (now() + holds).timestamp(), "state": _state(person)}
    return f"{settings.BASE_URL}{reverse('choose_password')}?key={signing.dumps(told, salt=SALT)}"


def holder(key: str, *, locked: bool = False) -> Person | None:
    """Whose link a key is of, while it holds; inside a transaction the person may be locked."""
    try:
        told = signing.loads(key, salt=SALT)
    except (signing.BadSignature, ValueError):
        return None
    rows = Person.objects.select_for_update() if locked else Person.objects
    person = rows.filter(uid=told["person"], is_active=True).first()
    if person is None or now().timestamp() >= told["until"] or told["state"] != _state(person):
        return None
    return person


def _state(person: Person) -> str:
    """What changes as soon as a password is chosen, an invitation renewed, or somebody leaves."""
    kept = f"{person.password}:{person.email}:{person.sessions_ended}"
    return salted_hmac(SALT, kept, algorithm="sha256").hexdigest()
