"""`manage.py open_workshop`: the workshop's row and its first lead, who may do everything."""

import secrets
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from shop.staff.actions import first_lead
from shop.workshop.actions import open_workshop
from shop.workshop.reads import workshop


class Command(BaseCommand):
    help = "Open an empty workshop and print its first sign-in: role, e-mail, password, signing secret."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--name", default="Our workshop")
        parser.add_argument("--zone", default="Europe/London")
        parser.add_argument("--currency", default="GBP")
        parser.add_argument("--lead", default="Lead", help="The name of the first lead.")
        parser.add_argument("--email", default="lead@workshop.example")

    def handle(self, *args: Any, **options: Any) -> None:
        if workshop():
            raise CommandError("The workshop is open already.", returncode=3)
        password, secret = secrets.token_urlsafe(15), secrets.token_urlsafe(9)
        with transaction.atomic():
            open_workshop(name=options["name"], zone=options["zone"], currency=options["currency"])
            first_lead(name=options["lead"], email=options["email"], password=password, signing_secret=secret)
        self.stdout.write(f"lead  {options['email']}  {password}  {secret}")
