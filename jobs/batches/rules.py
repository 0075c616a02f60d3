"""What can be brought in, how columns are guessed from their names, and how words of old systems are read. Pure."""

import re
from collections.abc import Iterable
from datetime import date
from enum import StrEnum

from shop.search.rules import fold
from shop.workshop.rules import Kind, Refusal


class What(StrEnum):
    """What one file holds."""

    CUSTOMERS = "customers"
    ITEMS = "items"
    SERVICES = "services"


class State(StrEnum):
    """How far a batch is: its columns are asked for; a dry run goes on, or is done; rows come in; the end."""

    COLUMNS = "columns"
    CHECKING = "checking"
    CHECKED = "checked"
    BRINGING = "bringing in"
    DONE = "brought in"
    UNDONE = "undone"


CHUNK = 500  # rows that go into one transaction or one statement
WORKING = (State.CHECKING, State.BRINGING)  # what the worker goes on with

# What each kind of file may tell, in the order of the page. What columns are called elsewhere stands beside it,
# as `plain` gives it; a field with a star must have a column.
FIELDS: dict[What, dict[str, str]] = {
    What.CUSTOMERS: {
        "name*": "full name,customer,customer name,kunde,kundenname,nom,nombre,nome,cliente,client,naam,klant,namn,navn",
        "email": "e mail,mail,email address,e mail address,e mail adresse,courriel,correo,correo electronico,epost,e post",
        "phone": "telephone,tel,mobile,cell,phone number,telefon,handy,mobil,telefono,portable,telefoon,telefone",
        "postal": "postal address,address,mailing address,adresse,anschrift,postadresse,adresse postale,direccion,indirizzo,endereco,adres",
        "kind": "type,customer type,art,typ,tipo,kundenart,soort",
        "reminders": "reminder,wants reminders,erinnerung,erinnerungen,rappel,rappels,recordatorio,promemoria",
        "language": "lang,sprache,langue,idioma,lengua,lingua,taal",
        "old_key": "id,key,customer id,customer no,customer number,kundennummer,kundennr,kunden nr,numero client,no,nr",
    },
    What.ITEMS: {
        "maker*": "make,manufacturer,brand,hersteller,marke,marque,fabricant,marca,fabricante,produttore,merk",
        "model*": "model name,modell,modele,modelo,modello,product",
        "kind*": "type,kind of gear,category,art,geratetyp,gerateart,categorie,categoria,tipo,soort",
        "revision": "rev,version,ausfuhrung",
        "serial": "serial number,serial no,sn,s n,seriennummer,serien nr,numero de serie,no de serie,matricola,serienummer",
        "owners_mark": "owner s mark,mark,kennzeichen,marquage,marcado",
        "owner": "owner number,owner email,owner e mail,email,e mail,besitzer,eigentumer,proprietaire,propietario",
        "owner_old_key": "owner id,customer id,customer no,customer number,kundennummer,kunden nr,numero client,id client",
        "old_key": "id,key,item id,item no,equipment id,asset id,geratenummer,gerate nr,nr,no",
    },
    What.SERVICES: {
        "what*": "service,clock,service type,art der wartung,wartung,prufung,type de revision,tipo de revision",
        "day*": "date,service date,done on,datum,wartungsdatum,fecha,data",
        "months": "interval,interval months,intervall,monate,mois,meses,mesi,maanden",
        "item": "item number,gear number",
        "item_old_key": "item id,item no,equipment id,asset id,geratenummer,gerate nr",
        "serial": "serial number,serial no,sn,s n,seriennummer,serien nr,numero de serie,no de serie,matricola,serienummer",
        "maker": "make,manufacturer,brand,hersteller,marke,marque,fabricant,marca,fabricante,produttore,merk",
    },
}  # fmt: skip
# Fields of which at least one must have a column.
ONE_OF = {What.ITEMS: ("owner", "owner_old_key"), What.SERVICES: ("item", "item_old_key", "serial")}
_KINDS = {
    Kind.FIRST_STAGE: "1st stage,regulator first stage,erste stufe,1 stufe,premier etage,1er etage,primera etapa,primo stadio",
    Kind.SECOND_STAGE: "2nd stage,regulator second stage,zweite stufe,2 stufe,deuxieme etage,2e etage,segunda etapa,secondo stadio",
    Kind.SUBMERSIBLE_GAUGE: "gauge,spg,pressure gauge,finimeter,manometre,manometro",
    Kind.BCD: "bc,buoyancy compensator,jacket,wing,tarierjacket,gilet,stab,chaleco,jacket bcd",
    Kind.CYLINDER: "tank,bottle,flasche,tauchflasche,bouteille,bloc,botella,bombola,fles",
    Kind.CYLINDER_VALVE: "valve,tank valve,ventil,flaschenventil,robinetterie,grifo,rubinetto",
    Kind.INFLATOR: "power inflator,bcd inflator,low pressure inflator,inflatorschlauch,inflateur,hinchador",
    Kind.HOSE: "lp hose,hp hose,hoses,schlauch,mitteldruckschlauch,hochdruckschlauch,flexible,tuyau,latiguillo,frusta,slang",
    Kind.COMPUTER: "dive computer,tauchcomputer,ordinateur,ordinateur de plongee,ordenador,duikcomputer",
    Kind.COMPRESSOR: "air compressor,breathing air compressor,kompressor,compresseur,compresor,compressore",
    Kind.DRY_SUIT: "drysuit,trockenanzug,combinaison etanche,traje seco,muta stagna,droogpak",
}
_ORGANISATION = "organisation,organization,company,club,firm,firma,verein,societe,entreprise,empresa,societa,ditta,business"
_PERSON = ",person,private,individual,privat,particulier,personne,persona,particular,privato"
_YES = "yes,y,true,1,x,ja,j,oui,o,si,s,sim,wahr,vrai"
_NO = ",no,n,false,0,nein,non,nao,nee,falsch,faux"
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ].*)?")
_DOTTED = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")
_MOST_MONTHS = 600


def plain(text: str) -> str:
    """Words as they are compared: without case, accents and signs."""
    return " ".join(re.findall(r"\w+", fold(text.replace("ß", "ss")).replace("_", " ")))


def fields(what: What) -> list[str]:
    """The fields of a kind of file."""
    return [name.rstrip("*") for name in FIELDS[what]]


def guess(what: What, columns: Iterable[str]) -> dict[str, str]:
    """Field -> column, as far as the names of the columns tell; no column is taken twice."""
    free = {plain(column): column for column in columns if column}
    found = {}
    for exact in (True, False):  # what is called as we call it goes first
        for starred, words in FIELDS[what].items():
            name = starred.rstrip("*")
            for word in [plain(name)] if exact else words.split(","):
                if name not in found and word in free:
                    found[name] = free.pop(word)
    return found


def likeliest(columns: list[str]) -> What:
    """The kind of file whose fields the columns tell best; what lacks a column that must be there comes last."""
    score = {
        what: len(guess(what, columns)) - 99 * bool(lacking(what, guess(what, columns))) for what in What
    }
    return max(What, key=lambda what: score[what])


def lacking(what: What, mapping: dict[str, str]) -> list[Refusal]:
    """Why a file cannot be read with these columns."""
    needed = [name[:-1] for name in FIELDS[what] if name.endswith("*")]
    found = [
        Refusal("column-missing", f"No column is given for {name.replace('_', ' ')}.", name)
        for name in needed
        if name not in mapping
    ]
    some = ONE_OF.get(what, ())
    if some and not set(some) & set(mapping):
        said = " or ".join(name.replace("_", " ") for name in some)
        found.append(Refusal("column-missing", f"No column is given for {said}.", some[0]))
    by_serial = what is What.SERVICES and set(mapping) & set(ONE_OF[what]) == {"serial"}
    if by_serial and "maker" not in mapping:
        found.append(Refusal("column-missing", "A serial needs its maker beside it.", "maker"))
    return found


def kind_of_gear(text: str) -> str | None:
    """A kind of gear by our word or another's; None if it is not known."""
    said = plain(text)
    for kind, words in _KINDS.items():
        if said in (plain(kind.value), plain(kind.label), *words.split(",")):
            return kind.value
    return None


def kind_of_customer(text: str) -> str | None:
    """A person or an organisation; nothing said means a person."""
    said = plain(text)
    return (
        "person"
        if said in _PERSON.split(",")
        else "organisation"
        if said in _ORGANISATION.split(",")
        else None
    )


_LANGUAGES = {
    "": ",",
    "en": "en,english,englisch,anglais,ingles",
    "de": "de,german,deutsch,allemand,aleman",
    "fr": "fr,french,franzosisch,francais,frances",
    "es": "es,spanish,spanisch,espagnol,espanol,castellano",
}


def language_of(text: str) -> str | None:
    """A language that letters are written in; nothing said means the workshop's own."""
    said = plain(text)
    return next((key for key, names in _LANGUAGES.items() if said in names.split(",")), None)


def yes_or_no(text: str) -> bool | None:
    """A yes or no; nothing said means no."""
    said = plain(text)
    return True if said in _YES.split(",") else False if said in _NO.split(",") else None


def day_of(text: str) -> date | None:
    """A day as 2024-05-31 or 31.05.2024; 05/04/2024 may be either of two days, so it is none."""
    parts = [*map(int, found.groups())] if (found := _ISO.fullmatch(text)) else None
    if parts is None and (found := _DOTTED.fullmatch(text)):
        parts = [*map(int, found.groups())][::-1]
    try:
        return date(*parts) if parts else None
    except ValueError:
        return None


def months_of(text: str) -> int | None:
    """A count of months; nothing otherwise."""
    found = re.fullmatch(r"(\d{1,3})(?:\.0)?(?: ?\w+)?", text)
    return int(found[1]) if found and 0 < int(found[1]) <= _MOST_MONTHS else None


def key_of(title: str) -> str:
    """The key of a clock that is only known by its title."""
    return re.sub(r"[^a-z0-9]+", "-", fold(title)).strip("-")[:40] or "service"


def cause_of(batch: str, line: int) -> str:
    """The cause of a restart by a row that was brought in."""
    return f"batch:{batch}:line {line}"


def begin_refusals(*, state: str, good: int, bad: int, good_rows: bool) -> list[Refusal]:
    """Why the rows of a file are not brought in."""
    if state != State.CHECKED:
        return [Refusal("not-checked", f"This file is at {state!r}: it is brought in after a dry run only.")]
    if not good:
        return [Refusal("nothing-good", "No row of this file can be brought in.")]
    if bad and not good_rows:
        said = f"{bad} rows are bad, so nothing was brought in. Mend them, or ask for the good rows only."
        return [Refusal("bad-rows", said, "good_rows")]
    return []
