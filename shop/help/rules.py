"""The first five steps of each role, and the API by example: each example is run by a test as it stands here. Pure."""

from dataclasses import dataclass

from shop.staff.rules import Role


@dataclass(frozen=True)
class Step:
    """One step: the page by its name, what of it is asked for, and the words."""

    page: str
    do: str
    see: str
    asked: str = ""


_YOU = Step(
    "you", "Look at what is kept of you.",
    "What lets you in, your signing secret, a second factor if you want one, and what you are authorised for.",
)  # fmt: skip
_EVERYBODY = "?of=everybody"
STEPS: dict[Role, tuple[Step, ...]] = {
    Role.COUNTER: (
        Step(
            "counter", "Begin at the Counter.",
            "A box that finds a customer by anything, what is ready to collect, and which drop-offs are here.",
        ),
        Step(
            "new_customer", "See what is asked of somebody new.",
            "A name is enough. Ask about letters: without a yes no reminder is written. "
            "The page of the customer then has the button “Check in gear”.",
        ),
        Step(
            "bench", "Follow what you checked in.",
            "Every job with what comes next or what stops it. The drawing of a dive shows how far it is.",
            _EVERYBODY,
        ),
        Step(
            "letters", "See what was written to customers.",
            "Each letter, why it was written, and whether it went.",
        ),
        _YOU,
    ),
    Role.TECHNICIAN: (
        Step(
            "bench", "Begin at the Bench.",
            "The jobs next for you, the most urgent first, and below them those that cannot go on and why. "
            "Open one: its page shows the step that is due, the tray and the tests.",
        ),
        Step(
            "bench", "See what everybody has.", "All open jobs, by leg or by technician.", _EVERYBODY
        ),
        Step(
            "store", "See whether the parts are there.",
            "Each part with its lots: how many are on hand, and to which day each is good.",
        ),
        Step(
            "instruments", "See which instruments are good today.",
            "Nothing is judged with one that is out of calibration.",
        ),
        _YOU,
    ),
    Role.INSPECTOR: (
        Step(
            "bench", "Begin at the Bench.",
            "The jobs next for you. A second person at a sign-off types their own signing secret.",
        ),
        Step(
            "bench", "See what is being tested.", "The jobs on the last leg before sign-off.",
            "?of=everybody&leg=testing",
        ),
        Step(
            "doubts", "See what is doubted.",
            "What stands still for it, whose gear has gone, and what is still to be answered.",
        ),
        Step(
            "instruments", "Keep the instruments good.",
            "Each with the day to which it is calibrated, and a link to record the next calibration.",
        ),
        _YOU,
    ),
    Role.STOREKEEPER: (
        Step(
            "store", "Begin in the Store.",
            "Each part with its lots, how many are on hand, and a sign on a lot that is past its life.",
        ),
        Step(
            "new_part", "See what is asked of a new part.",
            "Its number, its name, and its storage life with the rule that says so. "
            "It then stands in the Store with a link to receive a lot.",
        ),
        Step(
            "bench", "See which jobs wait.", "Below: those that cannot go on, and which of them wait for parts.",
            _EVERYBODY,
        ),
        Step(
            "doubts", "See whether a lot is doubted.",
            "Jobs that rest on a doubted lot stand still until the doubt is answered.",
        ),
        _YOU,
    ),
    Role.LEAD: (
        Step(
            "board", "Begin with the board of the day.",
            "What is late or promised, who has how much, what nobody has, what is on hold, what is ready.",
        ),
        Step(
            "people", "See who may do what.",
            "Roles and authorisations with their last day. Invite somebody here; open a person to authorise them.",
        ),
        Step(
            "models", "See what a service consists of.",
            "Models and their service plans: drafts, issued versions, and what two versions differ in.",
        ),
        Step(
            "bench", "Give the jobs out.",
            "Open a job that nobody has and press “Give it to a technician”.", _EVERYBODY,
        ),
        Step(
            "doubts", "See what is doubted.",
            "What stands still, whom to telephone, and what was answered.",
        ),
    ),
}  # fmt: skip


@dataclass(frozen=True)
class Example:
    """One thing a machine wants to do: why, the commands, and what they print."""

    title: str
    words: str
    script: str
    answer: str = ""


SITE = "http://127.0.0.1:8710"  # the page shows its own address in the place of this one
EXAMPLES = (
    Example(
        "Before the first call",
        "Make a token with as few rights as the machine needs; these examples ask for “see”, “keep customers”, "
        "“check in” and “bring in and take out”. Put it into TOKEN, and the address of this workshop into SITE.",
        """
: "${TOKEN:?make one on the page Your tokens}"
API="${SITE:-http://127.0.0.1:8710}/api/v1"
ask() { curl -sS -H "Authorization: Token $TOKEN" "$@"; }
send() { ask -H "Content-Type: application/json" "$@"; }
status() { "$@" -o /dev/null -w '%{http_code}\\n'; }
pick() { python3 -c "import json, sys; d = json.load(sys.stdin); print($1)"; }
""",
    ),
    Example(
        "Make something once",
        "A POST that creates carries an Idempotency-Key of your choice. Did no answer come? Send the same again: within 24 "
        "hours the same key is answered as before, and nothing is made twice. With another body the key is refused.",
        """
NADIA='{"kind": "person", "name": "Nadia Fennimore", "reminders": false}'
send "$API/customers" -H 'Idempotency-Key: "example-nadia"' -d "$NADIA" | pick 'd["name"]'
send "$API/customers" -H 'Idempotency-Key: "example-nadia"' -d "$NADIA" -D - -o /dev/null | grep -i '^idempotent' | tr -d '\\r'
OWEN='{"kind": "person", "name": "Owen Fennimore", "reminders": false}'
send "$API/customers" -H 'Idempotency-Key: "example-nadia"' -d "$OWEN" | pick 'd["status"], d["type"]'
send "$API/customers" -H 'Idempotency-Key: "example-owen"' -d "$OWEN" | pick 'd["name"]'
""",
        """
Nadia Fennimore
Idempotent-Replay: true
422 /problems/key-reused
Owen Fennimore
""",
    ),
    Example(
        "Read a list page by page",
        "Lists come newest first, 50 rows a page unless “limit” says otherwise, 200 at most. “next” is the address of the "
        "page that follows, or null at the end. Rows that are added meanwhile shift nothing.",
        """
PAGE=$(ask "$API/customers?name=Fennimore&limit=1")
pick 'd["results"][0]["name"]' <<<"$PAGE"
PAGE=$(ask "$(pick 'd["next"]' <<<"$PAGE")")
pick 'd["results"][0]["name"]' <<<"$PAGE"
NADIA=$(pick 'd["results"][0]["uid"]' <<<"$PAGE")
""",
        """
Owen Fennimore
Nadia Fennimore
""",
    ),
    Example(
        "Change what you have seen",
        "What you read has an ETag. A change carries it in If-Match: without it the change is refused with 428, and when "
        "somebody else changed the row meanwhile, with 412. Read again, then decide. A row that is still as you know it is "
        "answered with 304 and without a body.",
        """
ETAG=$(ask "$API/customers/$NADIA" -D - -o /dev/null | grep -i '^etag' | tr -d '\\r' | cut -d' ' -f2)
status ask "$API/customers/$NADIA" -H "If-None-Match: $ETAG"
NEW='{"kind": "person", "name": "Nadia Fennimore", "phone": "+441632960311", "reminders": false}'
status send -X PUT "$API/customers/$NADIA" -d "$NEW"
status send -X PUT "$API/customers/$NADIA" -H 'If-Match: "999"' -d "$NEW"
send -X PUT "$API/customers/$NADIA" -H "If-Match: $ETAG" -d "$NEW" | pick 'd["phone"]'
""",
        """
304
428
412
+441632960311
""",
    ),
    Example(
        "Read a refusal",
        "What is refused is a problem (RFC 9457) that names every reason at once: a code that does not change, a sentence for "
        "people, and for a field of the body its JSON pointer. 400 is about the body alone; 409 about how things stand here.",
        """
REASONS='"; ".join(each["pointer"] + " " + each["code"] for each in d["errors"])'
send "$API/customers" -H 'Idempotency-Key: "example-wrong"' -d '{"kind": "whale", "colour": "grey"}' | pick "$REASONS"
LATE="{\\"customer\\": \\"$NADIA\\", \\"promised_on\\": \\"2020-02-29\\", \\"lines\\": [{\\"words\\": \\"a bag\\", \\"contents\\": \\"no gas\\"}]}"
send "$API/drop-offs" -H 'Idempotency-Key: "example-late"' -d "$LATE" | pick "$REASONS"
status ask "$API/customers/00000000-0000-0000-0000-000000000000"
status curl -sS "$API/customers"
""",
        """
/colour invalid; /kind invalid_choice; /name required
/promised_on promise-past
404
401
""",
    ),
    Example(
        "Bring a file in, take everything out",
        "A file is kept with a guess of its columns. Say which column tells what, and a worker makes the dry run: ask for "
        "the batch until its “state” is “checked”, read its “findings”, then POST to its “begin”. Everything goes out as one ZIP.",
        """
printf 'Full name,Mobile\\nLiv Farrow,+441632960312\\n' > customers.csv
BATCH=$(ask "$API/batches" -H 'Idempotency-Key: "example-file"' -F what=customers -F file=@customers.csv)
pick 'd["mapping"]' <<<"$BATCH"
BATCH="$API/batches/$(pick 'd["uid"]' <<<"$BATCH")"
send "$BATCH/columns" -d '{"mapping": {"name": "Full name", "phone": "Mobile"}}' | pick 'd["state"]'
ask -X POST "$API/archives" -o everything.zip
python3 -m zipfile -l everything.zip | grep -c 'customers.Customer'
""",
        """
{'name': 'Full name', 'phone': 'Mobile'}
checking
2
""",
    ),
)
