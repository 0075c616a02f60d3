"""The first five steps of each role: what to do, on which page, and what one sees there. Pure."""

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
