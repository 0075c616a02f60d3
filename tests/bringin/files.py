"""Ten thousand customers of thirty locales, with bad rows whose lines and columns are known; and commands in processes."""

import csv
import io
import subprocess
import sys
from typing import Any

import phonenumbers
from django.conf import settings

from tests.processes import environment

# One name of each locale: apostrophes, accents, hyphens, right to left, CJK, signs beyond the first plane.
NAMES = {
    "ar": "نور الحداد", "bn": "অনিন্দ্য সেন", "cs": "Jiří Dvořák", "da": "Søren Ærø", "de": "Jörg Weiß", "el": "Νίκος Παπαδάκης",
    "en": "Siân O'Neill", "es": "Íñigo Muñoz", "et": "Õnne Jõgi", "fa": "پرویز کیانی", "fi": "Päivi Mäkelä",
    "fr": "Loïc L'Hôpital", "he": "נועה בן־דוד", "hi": "अनीता शर्मा", "hu": "Győző Szűcs", "is": "Þóra Ægisdóttir",
    "it": "Niccolò D'Amico", "ja": "髙橋 さくら", "ko": "김하늘", "lt": "Žydrūnė Šimkutė", "nl": "Anneke van 't Hooft",
    "no": "Åse Bjørnøy", "pl": "Łukasz Żółć", "pt": "Tomás Brandão-Conceição", "ru": "Фёдор Щукин", "sv": "Göran Öberg",
    "th": "สมชาย ใจดี", "tr": "İlkay Çağrı Işık", "vi": "Nguyễn Thị Hạnh", "zh": "𠮷田 欧阳娜",
}  # fmt: skip
REGIONS = sorted(phonenumbers.SUPPORTED_REGIONS)
# What is wrong with a bad row: the column, and the cell that is put there.
WRONG = [
    ("Name", ""),
    ("Name", "x" * 161),
    ("E-mail", "nobody at all"),
    ("Phone", "0163"),
    ("Phone", "+44 1"),
    ("Type", "submarine"),
    ("Reminders", "perhaps"),
]
HEAD = ["Id", "Name", "E-mail", "Phone", "Type", "Reminders"]


def phone_of(region: str) -> str:
    """An example of a region as people there write it for the world."""
    number = phonenumbers.example_number(region)
    assert number is not None
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.INTERNATIONAL)


def ten_thousand(rows: int = 10_000) -> tuple[bytes, set[tuple[int, str]], dict[int, list[str]]]:
    """A file, (line, column) of each bad row, and line -> cells of each good one."""
    phones, names = [phone_of(region) for region in REGIONS], list(NAMES.values())
    text, bad, good = io.StringIO(newline=""), set(), {}
    sheet = csv.writer(text)
    sheet.writerow(HEAD)
    for n in range(rows):
        name = f"{names[n % len(names)]} {n}"
        cells = [
            str(n),
            name,
            f"nr{n}@example.org",
            phones[n % len(phones)],
            ("person", "company")[n % 2],
            "ja",
        ]
        if n % 97 == 5:
            column, wrong = WRONG[n // 97 % len(WRONG)]
            cells[HEAD.index(column)] = wrong
            bad.add((n + 2, column))
        else:
            good[n + 2] = cells
        sheet.writerow(cells)
    return text.getvalue().encode(), bad, good


RUN = (
    "import resource, sys; from django.core.management import execute_from_command_line as run; run(sys.argv);"
    "print('kilobytes', resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
)


def command(*arguments: Any) -> subprocess.Popen[str]:
    """A command of manage.py in a process of its own, which says at its end how much memory it had at most.

    A shell stands between: a process that is made of a large one would count that one's memory as its own.
    """
    return subprocess.Popen(
        ["sh", "-c", '"$@"; exit $?', "sh", sys.executable, "-c", RUN, *map(str, arguments)],
        env={**environment(), "DJANGO_SETTINGS_MODULE": "shop.settings"},
        cwd=settings.ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
