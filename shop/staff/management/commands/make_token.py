"""`manage.py make_token EMAIL`: a token for the API with all of the person's rights, printed once."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.staff.actions import make_token
from shop.staff.models import Person


class Command(BaseCommand):
    help = "Make a token for somebody and print it."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("email")
        parser.add_argument("--days", type=int, default=30)

    def handle(self, *args: Any, **options: Any) -> None:
        person = Person.objects.filter(email=options["email"]).first()
        if person is None:
            raise CommandError("Nobody signs in with that address.")
        rights = sorted(right.value for right in person.rights)
        _, text = make_token(by=person, label="made by command", scopes=rights, days=options["days"])
        self.stdout.write(text)
