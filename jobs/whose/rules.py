"""Where a customer stands in the database, what erasure does to each column, and which texts name somebody. Pure."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

SAFETY = "the safety record: what was done and measured, with what, by whom"
OURS = "made by the house: hashes, uids, keys, verbs, facts"
_JOB = "job__drop_off__customer"
_ROUND = f"round__{_JOB}"


@dataclass(frozen=True)
class Held:
    """How the rows of one table hang on a customer, and what erasure does to their columns of text or bytes.

    `paths` lead from a row up to the customer. `mentions` do too, but a row that only mentions them is all that is theirs of
    it: who brings another's gear is told of the visit, not of the gear. What is `emptied` holds nothing afterwards, what is
    `erased` says so (`only` narrows it), what is `cleaned` is kept but where it names them, and `called` so on the page; what is `kept` has its `why`.
    """

    paths: tuple[str, ...] = ()
    mentions: tuple[str, ...] = ()
    pseudonym: str = ""
    emptied: str = ""
    erased: str = ""
    only: tuple[str, str] | None = None
    cleaned: str = ""
    called: str = ""
    kept: str = ""
    why: str = ""

    def columns(self) -> list[str]:
        """Every column that is spoken for."""
        return " ".join((self.pseudonym, self.emptied, self.erased, self.cleaned, self.kept)).split()


# Tables that a foreign key leads from to a customer. The numbers of customers, items, drop-offs and jobs are the pseudonym.
HELD: Mapping[str, Held] = {
    "customers.Customer": Held(("pk", "merged_into"), pseudonym="name", emptied="email phone postal"),
    "gear.Item": Held(("owner",), kept="specification", why="what the gear is made to"),
    "gear.Identifier": Held(
        ("item__owner",), erased="value", only=("kind", "owner's mark"), kept="key",
        why="serials are the gear's; a key is made of its value",
    ),
    "gear.GearSet": Held(("owner",), erased="name"),
    "gear.Member": Held(("gear_set__owner", "item__owner")),
    "clocks.Clock": Held(("item__owner",), kept="key title", why="the plan's words"),
    "clocks.Restart": Held(("clock__item__owner",), cleaned="elsewhere", called="what others did", kept="cause by", why=OURS),
    "clocks.TakenBack": Held(("restart__clock__item__owner",), kept="by", why=OURS),
    "clocks.Tally": Held(("item__owner",), kept="by", why=OURS),
    "reminders.Reminder": Held(("clock__item__owner",)),
    "flow.DropOff": Held(("customer",), mentions=("bringer", "payer", "collector")),
    "flow.Line": Held(
        ("drop_off__customer",), cleaned="words condition gas accessories", called="what came in", kept="pressure pressure_unit", why=SAFETY
    ),
    "flow.Job": Held(("drop_off__customer",), cleaned="promised_why", called="jobs"),
    "flow.Round": Held((_JOB,)),
    "flow.Move": Held((_JOB,), cleaned="reason", called="moves", kept="from_leg to_leg", why=OURS),
    "flow.Hold": Held((_JOB, "item__owner"), cleaned="why lifted_why", called="holds", kept="cause", why=OURS),
    "flow.Custody": Held(("line__drop_off__customer",), cleaned="holder why", called="custody", kept="seal", why="the number of a seal"),
    "worksheet.StepDone": Held((_ROUND,), cleaned="omitted noted", called="steps", kept="key torque_n_m authorisation", why=SAFETY),
    "tray.TrayPart": Held(
        (_ROUND,), cleaned="words why override", called="parts in the tray", kept="key gas_rule overridden authorisation", why=SAFETY
    ),
    "bench.Attempt": Held(
        (_ROUND,), cleaned="station certificate why_again", called="tests",
        kept="key beside reading unit trace figures result picture authorisation", why=SAFETY,
    ),
    "live.Logging": Held((_JOB,), cleaned="why_again reason", called="loggings", kept="key columns", why=SAFETY),
    "live.Chunk": Held((f"logging__{_JOB}",), kept="lines", why=SAFETY),
    "planning.Takeover": Held((_JOB,), cleaned="condition", called="takeovers", kept="leg", why=OURS),
    "estimates.GoAhead": Held(("drop_off__customer",), erased="given_by", kept="currency", why="three letters"),
    "estimates.Charge": Held(
        ("drop_off__customer",), erased="given_by", cleaned="what reason", called="lines of estimates", kept="rate", why="a name of ours"
    ),
    "quotes.Quote": Held(("drop_off__customer",), kept="currency", why="three letters"),
    "bills.Bill": Held(
        ("drop_off__customer",), cleaned="reason", called="bills", kept="currency document",
        why="what was charged: it names a customer by number, and the law of the place says how long it is kept",
    ),
    "bills.Payment": Held(("drop_off__customer",), cleaned="reason", called="payments", kept="currency", why="three letters"),
    "terms.Accepted": Held(("drop_off__customer",), erased="name"),
    "condition.Look": Held(("line__drop_off__customer",)),
    "condition.Answer": Held(
        ("of_look__line__drop_off__customer",), cleaned="note", called="condition lists", kept="words", why="what the list asked"
    ),
    "porthole.Shared": Held(("drop_off__customer",)),
    "porthole.Question": Held(("drop_off__customer",), emptied="text answer"),
    "notices.Doubt": Held((f"attempt__{_ROUND}", f"step__{_ROUND}"), cleaned="why", called="doubts"),
    "notices.Affected": Held((_JOB,)),
    "notices.Answer": Held(
        (f"affected__{_JOB}", f"doubt__attempt__{_ROUND}", f"doubt__step__{_ROUND}"), cleaned="words", called="answers to doubts"
    ),
    "safety.Match": Held(("item__owner",)),
    "matches.Answer": Held(("match__item__owner", _JOB), cleaned="words", called="answers to safety notices"),
    "signoff.SignOff": Held(
        (_ROUND,), cleaned="words single_handed record", called="sign-offs",
        kept="digest signature authorisation second_authorisation", why=SAFETY,
    ),
    "signoff.Twin": Held((f"sign_off__{_ROUND}",), kept="record digest signature", why="what erasure left of a record"),
    "handback.HandBack": Held(("drop_off__customer",), erased="collector"),
    "handback.Asked": Held(("drop_off__customer",)),
    "handback.Disposal": Held((_JOB,), cleaned="how", called="disposals"),
    "batches.Brought": Held(("customer", "item__owner", "restart__clock__item__owner"), emptied="old_key"),
    "links.Link": Held(("customer",), kept="digest", why="made of a secret by chance; erasure ends the link"),
    "answers.Answer": Held(("customer",), erased="elsewhere"),
    "answers.NewAddress": Held(("answer__customer",), emptied="email"),
    "answers.Settled": Held(("answer__customer",)),
    "bookings.Booking": Held(("customer",), erased="note", kept="made_by", why=OURS),
    "lending.Loan": Held(("borrower",), erased="note", cleaned="condition", called="loans"),
    "evidence.Evidence": Held((f"hold__{_JOB}", "hold__item__owner"), cleaned="reference found", called="evidence"),
    "evidence.EvidenceCustody": Held(
        (f"hold__{_JOB}", "hold__item__owner"), cleaned="giver holder why", called="custody of evidence",
        kept="intact broken", why="the numbers of seals",
    ),
    "rights.Erasure": Held(("customer",), cleaned="reason closed_why", called="requests to be erased"),
}  # fmt: skip
# Tables that name a customer, or what is theirs, in a column of text.
NAMED: Mapping[str, Held] = {
    "files.Photograph": Held(cleaned="words", kept="subject by", why=OURS),
    "files.Spot": Held(cleaned="words", kept="by", why=OURS),
    "files.Document": Held(kept="subject by", why=OURS),
    "files.File": Held(kept="sha256 media_type", why=OURS),
    "post.Letter": Held(emptied="address subject body error", kept="recipient run message_id", why=OURS),
    "post.Suppressed": Held(emptied="address why"),
    "journal.Entry": Held(kept="subject by verb facts digest previous hash", why=OURS),
    "journal.Words": Held(emptied="salt text"),
}
# Columns in which somebody may be named beside others' gear; they are looked through whole, whoever the rows are of.
ANYBODYS = (
    ("estimates.GoAhead", "given_by"),
    ("handback.HandBack", "collector"),
    ("terms.Accepted", "name"),
    ("batches.Finding", "said"),
)
# Foreign keys to one of these tables that make a row nobody's, each with the reason.
_BEFORE = "an item may have come with another owner: lines and jobs hang on the visit they came in at"
_ITSELF = "both rows hang on the customer in another way"
NOT_THEIRS: Mapping[tuple[str, str], str] = {
    ("flow.Line", "item"): _BEFORE,
    ("flow.Job", "item"): _BEFORE,
    ("flow.Job", "line"): _ITSELF,
    ("flow.Job", "follows"): "a later job hangs on its own visit",
    ("flow.Move", "round"): _ITSELF,
    ("flow.Custody", "corrects"): _ITSELF,
    ("gear.Item", "merged_into"): "whose it is says its owner",
    ("gear.Item", "split_from"): "likewise",
    ("estimates.Charge", "job"): _ITSELF,
    ("quotes.Quote", "link"): _ITSELF,
    ("porthole.Question", "link"): _ITSELF,
    ("bills.Bill", "corrects"): _ITSELF,
    ("bills.Payment", "takes_back"): _ITSELF,
    ("tray.TrayPart", "corrects"): _ITSELF,
    ("live.Logging", "round"): _ITSELF,
    ("live.Logging", "partner"): "another's gear that was measured beside it",
    ("live.Logging", "attempt"): _ITSELF,
    ("matches.Answer", "corrects"): _ITSELF,
    ("notices.Affected", "doubt"): "whose it is says its job",
    ("answers.Answer", "link"): _ITSELF,
    ("answers.Answer", "item"): "it may have gone to another owner since",
    ("answers.Answer", "clock"): "likewise",
    ("bookings.Booking", "drop_off"): _ITSELF,
    ("lending.Loan", "item"): "it is the workshop's own; whose loan it is says its borrower",
}
GIVEN_OUT = "data given out"  # what the journal says of it
NOTE = (
    "Every row that hangs on the customer, table by table, as the workshop keeps it. Photographs and documents stand under "
    "files, letters under letters, each by its uid. Other people, makers, plans and parts are named by key only."
)
# The tables whose rows journal, photographs and letters name by their uids, each with the word that stands before them.
KINDS = {
    "customer": "customers.Customer",
    "item": "gear.Item",
    "set": "gear.GearSet",
    "drop-off": "flow.DropOff",
    "job": "flow.Job",
    "line": "flow.Line",
    "answer": "answers.Answer",
    "evidence": "flow.Hold",
    "charge": "estimates.Charge",
}


def needles(texts: Iterable[str]) -> list[str]:
    """Texts that name somebody, as they are looked for: folded, three signs or more."""
    folded = (" ".join(text.casefold().split()) for text in texts)
    return sorted({text for text in folded if len(text) >= 3})


def with_a_number(postal: str) -> list[str]:
    """Of a postal address the lines that tell where somebody lives, by a house's number or a postcode; a town alone names nobody."""
    return [line for line in postal.splitlines() if any(sign.isdigit() for sign in line)]


def names(text: str, looked_for: Sequence[str]) -> bool:
    """Whether a text holds one of these as whole words, in any case and spacing; a telephone number also as people write it."""
    folded = " ".join(text.casefold().split())
    if any(each in folded and re.search(rf"(?<!\w){re.escape(each)}(?!\w)", folded) for each in looked_for):
        return True
    numbers = [each[-9:] for each in looked_for if re.fullmatch(r"\+\d{9,15}", each)]
    digits = re.sub(r"\D", "", text) if numbers else ""
    return any(each in digits for each in numbers)
