"""Who and what the demo workshop is made of: invented people, gear that wears, and the traces that it gives. Pure.

Nothing here is drawn by chance: `dice` gives the same figure for the same words, so two demos are alike.
"""

import hashlib
import math
from dataclasses import dataclass
from typing import Any

PERSON, ORGANISATION = "person", "organisation"
# Numbers that regulators keep free for fiction (from memory): Ofcom, NANPA 555-01xx, ACMA, ARCEP, Bundesnetzagentur.
# Visitors from elsewhere are reached under a British one.
NUMBERS = {
    "US": "+120255501{:02d}",
    "AU": "+612555000{:02d}",
    "FR": "+331990000{:02d}",
    "DE": "+4930231251{:02d}",
}
BRITISH = "+441632960{:03d}"

# Name, the word before the @, where they are from. All are invented; `.example` reaches nobody (RFC 2606).
PEOPLE = """
Maja Lindqvist|maja.lindqvist|SE; Rowan Achterberg|rowan.achterberg|NL; Yuki Tanamori|yuki.tanamori|JP
Tomás Brandão|tomas.brandao|PT; نور الحداد|nour.haddad|JO; Siobhán O’Kerrigan|siobhan.okerrigan|IE
Wren Halloway|wren.halloway|GB; Piotr Żelaźnik|piotr.zelaznik|PL; Ayşe Gündoğar|ayse.gundogar|TR
李 明海|li.minghai|CN; Ngozi Adeyinka|ngozi.adeyinka|NG; Bertrand d’Aubrac|bertrand.daubrac|FR
Greta Möwenstein|greta.moewenstein|DE; Callum Strand|callum.strand|GB; Ιωάννα Θαλασσινού|ioanna.thalassinou|GR
Hallgrímur Sævarsson|hallgrimur.saevarsson|IS; Priya Narayanesh|priya.narayanesh|IN; Дмитро Морський|dmytro.morskyi|UA
Odalys Quintanar|odalys.quintanar|MX; Fenna Duinker|fenna.duinker|NL; דנה ימית|dana.yamit|IL
Ewan Tidewater|ewan.tidewater|GB; Kerstin Ålund|kerstin.alund|SE; Mbali Dlaminzi|mbali.dlaminzi|ZA
Josué Peñarrosa|josue.penarrosa|ES; Min-jun Haeyang|minjun.haeyang|KR; Tuva Skjærgård|tuva.skjaergard|NO
Luca Marèttimo|luca.marettimo|IT; Bridie Fennimore|bridie.fennimore|GB; Anahera Tāwhaki|anahera.tawhaki|NZ
Casper Overwater|casper.overwater|US; Đặng Thị Biển|dang.bien|VN; Rosalind Keelby|rosalind.keelby|GB
Zoltán Tengerész|zoltan.tengeresz|HU; สมชาย ทะเลงาม|somchai.talengam|TH; Imogen Sprake|imogen.sprake|GB
Ines Recifes|ines.recifes|BR; Mattias Klippe|mattias.klippe|SE; Odette Récif|odette.recif|FR
Marlow Cassidy-Reef|marlow.cassidyreef|AU; Hanne Strømme|hanne.stromme|DK; Gwilym Morlais|gwilym.morlais|GB
Aino Merituuli|aino.merituuli|FI; Stefan Tiefensee|stefan.tiefensee|DE; Dara Lochlann|dara.lochlann|IE
Peregrine Vale|peregrine.vale|US; Kirra Bommie|kirra.bommie|AU; Nadia Corallina|nadia.corallina|IT
"""
GROUPS = """
Aldermouth Evening Divers|kit.eveningdivers; Aldermouth Sea School|stores.seaschool
Aldermouth Fire and Rescue, Station 4|boots.station4; Harbour Police Dive Unit|store.harbourpolice
Quoyburn College|boathouse.quoyburn; Aldermouth Lifeboat Crew|coxswain.lifeboat
Saltmarsh Survey|field.saltmarsh; Wreck and Reef Tours|desk.wreckandreef; Grayvoe Fish Farm|net.grayvoe
University of Aldermouth, Marine Biology|lab.marinebiology; Kelp and Company|boat.kelpandcompany
Aldermouth Harbour Works|yard.harbourworks
"""


@dataclass(frozen=True)
class Somebody:
    """A customer to be."""

    kind: str
    name: str
    email: str
    phone: str
    reminders: bool
    postal: str = ""


@dataclass(frozen=True)
class Gear:
    """An item to be: whose, what, its marks, how many dives a year it makes, and the years in which it came."""

    owner: int
    kind: str
    maker: str
    serial: str
    mark: str = ""
    dives: int = 30
    since: int = 0


def dice(*words: object) -> float:
    """A figure from 0 up to 1 that looks like chance and is the same each time."""
    digest = hashlib.sha256("|".join(map(str, words)).encode()).digest()
    return int.from_bytes(digest[:6], "big") / 2**48


def customers() -> list[Somebody]:
    """Sixty of them: locals and visitors, then clubs, schools, services and firms."""
    found = []
    rows = [each.strip().split("|") for each in PEOPLE.replace("\n", ";").split(";") if each.strip()]
    for n, (name, word, country) in enumerate(rows):
        phone = NUMBERS.get(country, BRITISH).format(n + 10)
        found.append(Somebody(PERSON, name, f"{word}@aldermouth.example", phone, dice("mail", name) < 0.85))
    rows = [each.strip().split("|") for each in GROUPS.replace("\n", ";").split(";") if each.strip()]
    for n, (name, word) in enumerate(rows):
        phone = BRITISH.format(900 + n)
        street = f"{2 + 3 * n} Slipway Street\nAldermouth"
        mail = f"{word}@aldermouth.example"
        found.append(Somebody(ORGANISATION, name, mail, phone, reminders=True, postal=street))
    return found


MAKERS = ("Tarnwell", "Tarnwell", "Tarnwell", "Skerryvane", "Pellmoor")  # most gear here is Tarnwell's
SCHOOL, FIRE, POLICE = 49, 50, 51  # of the customers above
REGULATOR = ("first_stage", "second_stage")


def gear() -> list[Gear]:
    """Two hundred items: a regulator for everybody, what else some of them have, and the stores of three groups."""
    found = []
    for owner in range(48):
        maker, since = MAKERS[int(dice("maker", owner) * 5)], int(dice("since", owner) * 3)
        dives, serial = 12 + int(dice("dives", owner) * 90), f"{maker[0]}{owner:02d}"
        own: dict[str, Any] = {"owner": owner, "dives": dives, "since": since}
        found.append(Gear(kind="first_stage", maker=maker, serial=f"{serial}-4{owner:03d}", **own))
        found.append(Gear(kind="second_stage", maker=maker, serial=f"{serial}-7{owner:03d}", **own))
        for kind, share in (("second_stage", 0.5), ("submersible_gauge", 0.3), ("cylinder", 0.3), ("bcd", 0.12), ("dry_suit", 0.08)):  # fmt: skip
            if dice(kind, owner) < share:
                made_by = maker if kind == "second_stage" else OTHERS[kind]
                found.append(
                    Gear(kind=kind, maker=made_by, serial=f"{serial}-{kind[:2].upper()}{owner:03d}", **own)
                )
    for n in range(24):
        found.append(Gear(SCHOOL, "second_stage", "Tarnwell", "", f"SEA {n + 1:02d}", 40, 1))
    for n in range(10):
        for kind in ("first_stage", "second_stage"):
            found.append(
                Gear(FIRE, kind, "Skerryvane", f"FR{n:02d}-{kind[0].upper()}", f"FIRE {n + 1}", 25, 1)
            )
    for kind in ("compressor", "hose", "computer", "inflator"):
        found.append(Gear(SCHOOL, kind, OTHERS[kind], f"SEA-{kind[:5].upper()}", since=1))
    return found


OTHERS = {
    "submersible_gauge": "Brackwold",
    "cylinder": "Brackwold",
    "bcd": "Pellmoor",
    "dry_suit": "Pellmoor",
    "compressor": "Brackwold",
    "hose": "Brackwold",
    "computer": "Skerryvane",
    "inflator": "Pellmoor",
}
# Maker, model, kind, design, and the shipped plan that is issued for it under a key; regulators have a yearly check too.
MODELS = [
    ("Tarnwell", "Hesk", "first_stage", "balanced diaphragm", "overhaul", "first_stage"),
    ("Tarnwell", "Hesk", "second_stage", "downstream", "overhaul", "second_stage"),
    ("Skerryvane", "Tolve", "first_stage", "balanced piston", "overhaul", "balanced_piston_first_stage"),
    ("Skerryvane", "Quern", "second_stage", "downstream", "overhaul", "downstream_second_stage"),
    ("Pellmoor", "Orrin", "first_stage", "balanced diaphragm", "overhaul", "diaphragm_first_stage"),
    ("Pellmoor", "Orrin", "second_stage", "downstream", "overhaul", "downstream_second_stage"),
    ("Brackwold", "Sill", "submersible_gauge", "Bourdon tube", "service", "submersible_gauge"),
    ("Brackwold", "Marl", "cylinder", "steel, 12 l", "visual", "cylinder_visual"),
    ("Brackwold", "Marl", "cylinder", "steel, 12 l", "pressure_test", "cylinder_pressure_test"),
    ("Pellmoor", "Thole", "bcd", "jacket", "service", "bcd"),
    ("Pellmoor", "Sedge", "dry_suit", "valves", "service", "dry_suit_valves"),
    ("Brackwold", "Gale", "compressor", "three stages, oil", "air", "compressor_air"),
    ("Brackwold", "Tether", "hose", "low pressure", "inspection", "hose"),
    ("Skerryvane", "Glim", "computer", "wrist", "check", "computer"),
    ("Pellmoor", "Thole", "inflator", "corrugated hose", "service", "inflator"),
]


def parts_of(documents: list[dict[str, Any]], *, besides: set[str]) -> list[tuple[str, str]]:
    """The stocked parts that plans renew, each once, and none of those that are known: number and name."""
    parts = {part["renew"]: part["name"] for each in documents for part in each["parts"] if part["renew"]}
    return sorted((number, name) for number, name in parts.items() if number not in besides)


# Invented suppliers: name, e-mail, lead time in days; then what they sell: part, pack, their number.
SUPPLIERS = (
    ("Vantry Seals and Rubber", "orders@vantry.example", 21, (("TH-302", 25, "V-302"), ("TH-401", 10, "V-401"), ("TH-402", 10, "V-402"))),
    ("Skelwick Spares", "", None, (("SG-102", 12, ""), ("TH-402", 5, "77-402"))),
    ("Morrow Filters", "", 40, (("BP-101", 5, "M-1"), ("BP-102", 10, "M-2"), ("BP-107", 10, "M-7"), ("TH-303", 5, "M-33"))),
)  # fmt: skip


def price_of(number: str) -> int:
    """What a piece of a part costs here, in pence; invented."""
    return 40 + int(dice("price", number) * 400)


@dataclass(frozen=True)
class Open:
    """A job of today: what, under which plan, on which leg, for how many days, how far, why it is held, what was said."""

    maker: str
    kind: str
    plan: str
    leg: str
    days: int
    words: str = ""
    hold: str = ""
    why: str = ""
    steps: int = 0
    promised: int = 7


# What is seen on gear of a kind as it comes: by the place of the line in its list, with a note.
SEEN: dict[str, dict[int, str]] = {
    "first_stage": {0: "green, dry now", 3: "two of five"},
    "second_stage": {0: "bitten through on the left"},
    "bcd": {2: "a cup of salt water ran out"},
    "cylinder": {2: "at the shoulder, as wide as a thumb"},
    "dry_suit": {1: "stiff over the last hand's width"},
}
OPEN = [
    Open("Tarnwell", "first_stage", "overhaul", "checked_in", 0, "Breathes wet sometimes."),
    Open("Skerryvane", "first_stage", "overhaul", "checked_in", 2, "What would it cost?", "customer", "Wants to be rung before anything is done."),
    Open("Pellmoor", "bcd", "service", "checked_in", 0, "Loses air from the shoulder dump."),
    Open("Tarnwell", "second_stage", "check", "checked_in", 1, "Only the check, please."),
    Open("Tarnwell", "first_stage", "check", "cleared", 1),
    Open("Brackwold", "submersible_gauge", "service", "cleared", 3, "Needle sticks below 50 bar.", "parts", "Glass and seal are ordered.", promised=10),
    Open("Pellmoor", "dry_suit", "service", "cleared", 4, "Left cuff valve hisses.", "other", "Suit must dry before the valves come out.", promised=9),
    Open("Skerryvane", "second_stage", "overhaul", "cleared", 1),
    Open("Tarnwell", "first_stage", "overhaul", "stripping", 2, "Hisses at the yoke.", steps=3, promised=1),
    Open("Tarnwell", "second_stage", "overhaul", "stripping", 2, steps=1, promised=1),
    Open("Skerryvane", "first_stage", "overhaul", "stripping", 5, "Stiff to screw in.", steps=4, promised=3),
    Open("Tarnwell", "first_stage", "overhaul", "cleaning", 3, promised=0),
    Open("Tarnwell", "second_stage", "overhaul", "cleaning", 9, "Free flow in cold water.", "parts", "Poppet seats come on Thursday.", promised=-1),
    Open("Tarnwell", "first_stage", "overhaul", "rebuilding", 4, promised=2),
    Open("Tarnwell", "second_stage", "overhaul", "rebuilding", 4, promised=2),
    Open("Tarnwell", "first_stage", "overhaul", "testing", 5, promised=1),
    Open("Tarnwell", "second_stage", "check", "testing", 2, promised=0),
    Open("Brackwold", "cylinder", "visual", "testing", 3, "In date until May, I think.", "thread", "Valve and neck look like two standards.", promised=4),
    Open("Brackwold", "cylinder", "pressure_test", "testing", 6, promised=8),
    Open("Brackwold", "compressor", "air", "testing", 1, "The sheet of the laboratory is in the envelope.", promised=5),
    Open("Tarnwell", "first_stage", "check", "signed_off", 4, promised=1),
    Open("Pellmoor", "first_stage", "check", "signed_off", 6, promised=0),
    Open("Skerryvane", "second_stage", "check", "signed_off", 40, promised=-30),
]  # fmt: skip


def yearly_check(overhaul: dict[str, Any]) -> dict[str, Any]:
    """A check between two overhauls, made of an overhaul's plan: its first two tests, and nothing taken apart."""
    return overhaul | {
        "title": "Yearly check",
        "legs": ["testing"],
        "price": 3500,
        "minutes": 25,
        "second_person": False,
        "clock": {"key": "yearly_check", "title": "Yearly check", "months": 12},
        "steps": [],
        "parts": [],
        "tests": overhaul["tests"][:2],
    }


def creep_bar_min(dives: int) -> float:
    """How fast a worn seat lets the intermediate pressure rise, by the dives since it was renewed.

    An invented law that behaves like wear: a new seat hardly leaks, and the leak grows with the square of the use. It
    reaches the demo's limit of 0.05 bar/min after some 190 dives.
    """
    return 0.002 + 1.3e-6 * dives * dives


def trace(serial: str, year: int, dives: int) -> str:
    """Three minutes of a first stage after a purge, two samples a second, as a logger writes them (bar, gauge).

    The purge holds it at 5 bar for 5 s; it recovers with a time constant of 0.8 s and then rises as its seat leaks. The
    logger adds noise of about 0.006 bar.
    """
    lock_bar = 9.35 + 0.3 * dice("lock", serial)
    rise_bar_s = creep_bar_min(dives) / 60
    lines = ["t_s,p_bar"]
    for n in range(361):
        t_s = n * 0.5
        after_s = max(0.0, t_s - 5.0)
        p_bar = lock_bar - (lock_bar - 5.0) * math.exp(-after_s / 0.8) + rise_bar_s * after_s
        digest = hashlib.sha256(f"{serial}|{year}|{n}".encode()).digest()
        noise_bar = (sum(digest[:12]) / 255 - 6.0) * 0.006
        lines.append(f"{t_s:.2f},{p_bar + noise_bar:.4f}")
    return "\n".join(lines) + "\n"
