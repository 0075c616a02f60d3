"""`manage.py demo`: an invented workshop with three years behind it, built through the actions that people use."""

from datetime import timedelta
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from jobs.demo.management.commands._day import begun
from jobs.demo.management.commands._house import YEAR, House
from jobs.demo.management.commands._years import lived
from shop.staff.actions import say_reach
from shop.workshop.actions import open_workshop
from shop.workshop.reads import at, noon, today, workshop


class Command(BaseCommand):
    help = "Fill an empty workshop with a demo of three years and print one sign-in per role."

    def handle(self, *args: Any, **options: Any) -> None:
        if workshop():
            raise CommandError("The workshop is open already.", returncode=3)
        with transaction.atomic():
            for line in build():
                self.stdout.write(line)


def build(years: int = 3) -> list[str]:
    """Build everything, with so many years of services; one line per role: e-mail, password, signing secret."""
    open_workshop(name="Aldermouth Dive Workshop", zone="Europe/London", currency="GBP")
    house = House(today())
    with at(noon(house.day - timedelta(days=years * YEAR + 30))):
        house.open()
        say_reach(
            by=house.people["lead"],
            reach="Telephone 01632 960 400. The Slip 3, Aldermouth.",
            hours="Every day, 10 to 18 h",
            seen=2,
        )
        house.stock()
    lived(house, years)
    begun(house)
    house.orders()
    house.rental()
    return house.sign_ins
