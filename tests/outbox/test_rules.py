"""What a report of RFC 3464 says, whatever it looks like; whether a webhook's signature holds."""

from base64 import b64decode
from random import Random

import pytest

from shop.outbox.rules import MOST_BYTES, MOST_IDS, Fate, fate, read_report, signature, signed_by_us
from tests.outbox.made import MAJA, block, report

OURS = "<4b1d3d0c-0000-4000-8000-000000000001@aldermouth.example>"


def test_it_works() -> None:
    read = read_report(report(OURS))

    assert read is not None
    assert read.messages == {OURS}
    of_all, told = read.told
    assert (of_all.addresses, of_all.fate) == (frozenset(), Fate.OTHER)
    assert (told.addresses, told.fate, told.why) == (
        frozenset({MAJA}),
        Fate.GONE,
        "5.1.1 without a reason",
    )


@pytest.mark.parametrize(
    ("action", "status", "means"),
    [
        # RFC 3464, appendix E as examples.md of the reference quotes it: the action decides, not the digit.
        ("failed", "4.0.0", Fate.GONE),
        ("failed", "5.0.0 (permanent failure)", Fate.GONE),
        ("FAILED (no such user)", "5.1.1", Fate.GONE),
        ("failed", "", Fate.FAILED),
        ("failed", " (lost)", Fate.FAILED),
        ("delayed", "5.1.1", Fate.DELAYED),
        ("delayed", "4.4.7", Fate.DELAYED),
        ("delivered", "2.0.0", Fate.OTHER),
        ("relayed", "2.0.0", Fate.OTHER),
        ("expanded", "2.0.0", Fate.OTHER),
        ("", "5.1.1", Fate.OTHER),
        ("lost", "5.1.1", Fate.OTHER),
        # RFC 3463, 3.2 to 3.8: about our own address, a full mailbox, a long message, a system, content, a policy.
        ("failed", "5.1.7", Fate.FAILED),
        ("failed", "5.1.8", Fate.FAILED),
        ("failed", "5.2.2", Fate.FAILED),
        ("failed", "5.2.3", Fate.FAILED),
        ("failed", "5.3.4", Fate.FAILED),
        ("failed", "5.6.1", Fate.FAILED),
        ("failed", "5.7.1", Fate.FAILED),
        ("failed", "4.2.2", Fate.FAILED),
        ("failed", "5.2.1", Fate.GONE),
        ("failed", "5.1.10", Fate.GONE),  # RFC 7505, 4.2
        # RFC 3463, 3.5: the network or the way to it, as when our own relay is cut off.
        ("failed", "4.4.1", Fate.FAILED),
        ("failed", "4.4.7", Fate.FAILED),
        ("failed", "5.4.4", Fate.FAILED),
    ],
)
def test_it_goes_by_the_action(action: str, status: str, means: Fate) -> None:
    assert fate(action, status) is means


def test_it_reads_a_folded_diagnostic_and_a_comment_in_the_status() -> None:
    more = "Diagnostic-Code: smtp; 550 5.1.1\n unknown\n\tuser\nRemote-MTA: dns; mx.example\n"
    read = read_report(report(OURS, block(status="5.1.1 (bad address)", more=more)))

    assert read is not None
    assert read.told[1].why == "5.1.1 smtp; 550 5.1.1 unknown user"


def test_it_reads_mixed_recipients_with_and_without_a_space_and_lower_case_names() -> None:
    blocks = [
        "final-recipient: RFC822;Maja@Lindqvist.EXAMPLE\naction: delayed\nstatus: 4.2.2\n",
        "Original-Recipient: rfc822;<old@lindqvist.example>\n" + block("new@lindqvist.example"),
    ]
    read = read_report(report(OURS, *blocks, headers_only=True, kind="content-type"))

    assert read is not None
    assert read.messages == {OURS}
    assert [(set(told.addresses), told.fate) for told in read.told[1:]] == [
        ({MAJA}, Fate.DELAYED),
        ({"old@lindqvist.example", "new@lindqvist.example"}, Fate.GONE),
    ]


@pytest.mark.parametrize(
    "written",
    ["<@b>", "<a@>", "no brackets", "<a@b@c>", "", "\xe9\xff", "=?utf-8?q?=3Ca=40b=3E?=", "<" * 500],
)
def test_it_reads_on_past_a_message_id_that_is_none(written: str) -> None:
    """examples.md, 5: Python's newer policy raises IndexError at the first of these."""
    raw = report("@@").replace(b"@@", written.encode("latin-1"))

    read = read_report(raw.replace(b"Reporting-MTA", b"Original-Envelope-Id: 77\r\nReporting-MTA"))

    assert read is not None
    assert read.envelopes == {"77"}
    assert OURS not in read.messages


@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"\0\xff\xfe",
        b"Subject: On holiday\r\nAuto-Submitted: auto-replied\r\n\r\nBack on Monday.",
        b"Content-Type: multipart/report; boundary=b\r\n\r\n--b--",
        b"Content-Type: multipart/report\r\n\r\nno boundary",
        b"Content-Type: multipart/report; boundary=b\r\n\r\n--b\r\nContent-Type: message/delivery-status\r\n",
        report(OURS) + b"x" * MOST_BYTES,
    ],
)
def test_it_takes_nothing_else_for_a_report(raw: bytes) -> None:
    read = read_report(raw)

    assert read is None or read.messages == set()


def test_it_looks_for_fifty_messages_of_one_report() -> None:
    part = "--b0\r\nContent-Type: text/rfc822-headers\r\n\r\nMessage-ID: {}\r\n\r\n"
    parts = "".join(part.format(f"<{n}@a.example>") for n in range(200)).encode()

    read = read_report(report(OURS).replace(b"--b0--", parts + b"--b0--"))

    assert read is not None
    assert len(read.messages) == MOST_IDS == 50


def test_it_survives_parts_nested_without_end() -> None:
    head = b"Content-Type: multipart/report; boundary=b%d\r\n\r\n--b%d\r\n"

    assert read_report(b"".join(head % (n, n) for n in range(4000))) is None


def test_it_never_raises() -> None:
    """Four thousand reports with bytes changed, cut out or doubled; own seed."""
    rng, whole = Random(20261127), report(OURS, block(more="Diagnostic-Code: smtp; 550 no\n"), envelope="7")
    for _ in range(4000):
        raw = bytearray(whole)
        for _ in range(rng.randint(1, 30)):
            at = rng.randrange(len(raw))
            raw[at : at + rng.randint(0, 20)] = rng.choice(
                [b"", bytes([rng.randrange(256)]), raw[at : at + 40], b"\r\n\r\n", b"--b0\r\n"]
            )
        read_report(bytes(raw))


# The vector of trust.md, 1.3: Standard Webhooks 1.0.0.
KEY = b64decode("MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")
VECTOR = ("msg_p5jXN8AQM9LWM0D4loKWxJek", "1614265330", "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=")
BODY, AT = b'{"test": 2432232314}', 1614265330


def test_it_signs_as_the_standard_does() -> None:
    assert signature(KEY, VECTOR[0], VECTOR[1], BODY) == VECTOR[2]
    assert signed_by_us(KEY, *VECTOR, body=BODY, at=AT)
    assert signed_by_us(KEY, *VECTOR[:2], "v1,other v1a,zz " + VECTOR[2], body=BODY, at=AT)


@pytest.mark.parametrize(("late", "good"), [(300, True), (301, False), (-300, True), (-301, False)])
def test_it_takes_a_signature_for_five_minutes(late: int, good: bool) -> None:
    assert signed_by_us(KEY, *VECTOR, body=BODY, at=AT + late) is good


@pytest.mark.parametrize(
    ("key", "given", "body"),
    [
        (b"", VECTOR, BODY),
        (KEY[:-1] + b"x", VECTOR, BODY),
        (KEY, ("", *VECTOR[1:]), BODY),
        (KEY, ("msg_2", *VECTOR[1:]), BODY),
        (KEY, (VECTOR[0], "1614265331", VECTOR[2]), BODY),
        (KEY, (VECTOR[0], "nonsense", VECTOR[2]), BODY),
        (KEY, (VECTOR[0], "١٦١٤٢٦٥٣٣٠", VECTOR[2]), BODY),
        (KEY, (*VECTOR[:2], ""), BODY),
        (KEY, (*VECTOR[:2], VECTOR[2][3:]), BODY),
        (KEY, (*VECTOR[:2], "v1,\xff"), BODY),
        (KEY, VECTOR, BODY + b" "),
    ],
)
def test_it_takes_no_other_signature(key: bytes, given: tuple[str, str, str], body: bytes) -> None:
    assert not signed_by_us(key, *given, body=body, at=AT)
