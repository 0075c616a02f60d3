"""Ed25519 against RFC 8032, 7.1, and canonical JSON against RFC 8785, 3.2.2, 3.2.3 and Appendix B.

The vectors were read in several public test suites that quote the two RFCs, not in the RFCs themselves.
"""

import json
import struct

import pytest

from shop.signing.rules import canonical_json, fits, public_of, signature_of

# RFC 8032, 7.1, tests 1 to 3: seed, public key, message, signature.
SIGNED = [
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595b"
        "be24655141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb430"
        "2aeeb00d291612bb0c00",
    ),
]

# RFC 8785, Appendix B: the bits of a double, and how it is written.
NUMBERS = {
    "8000000000000000": "0",
    "0000000000000001": "5e-324",
    "7fefffffffffffff": "1.7976931348623157e+308",
    "4340000000000000": "9007199254740992",
    "4430000000000000": "295147905179352830000",
    "44b52d02c7e14af5": "9.999999999999997e+22",
    "44b52d02c7e14af6": "1e+23",
    "44b52d02c7e14af7": "1.0000000000000001e+23",
    "444b1ae4d6e2ef4e": "999999999999999700000",
    "444b1ae4d6e2ef4f": "999999999999999900000",
    "444b1ae4d6e2ef50": "1e+21",
    "3eb0c6f7a0b5ed8c": "9.999999999999997e-7",
    "3eb0c6f7a0b5ed8d": "0.000001",
    "41b3de4355555553": "333333333.3333332",
    "41b3de4355555554": "333333333.33333325",
    "41b3de4355555555": "333333333.3333333",
    "41b3de4355555556": "333333333.3333334",
    "41b3de4355555557": "333333333.33333343",
    "becbf647612f3696": "-0.0000033333333333333333",
}


@pytest.mark.parametrize(("seed", "public", "message", "signature"), SIGNED)
def test_it_works(seed: str, public: str, message: str, signature: str) -> None:
    raw, text = bytes.fromhex(seed), bytes.fromhex(message).decode()

    assert public_of(raw) == public
    assert signature_of(raw, text) == signature
    assert fits(public, text, signature)
    assert not fits(public, text + " ", signature)


@pytest.mark.parametrize(("bits", "written"), NUMBERS.items())
def test_it_writes_numbers_as_the_standard_does(bits: str, written: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))

    assert canonical_json(number) == written


@pytest.mark.parametrize("number", [float("nan"), float("inf"), float("-inf"), 2**53])
def test_it_refuses_what_has_no_form(number: float) -> None:
    with pytest.raises(ValueError, match="not representable|exceeds"):
        canonical_json(number)


def test_it_orders_names_by_their_utf_16_units() -> None:
    """RFC 8785, 3.2.3: U+1F600 stands before U+FB33, which Python's own order has the other way round."""
    names = ["\u20ac", "\r", "\ufb33", "1", "\U0001f600", "\u0080", "\u00f6"]

    found = json.loads(canonical_json(dict.fromkeys(names, 0)), object_pairs_hook=lambda pairs: pairs)

    assert [name for name, _ in found] == ["\r", "1", "\u0080", "\u00f6", "\u20ac", "\U0001f600", "\ufb33"]


def test_it_writes_the_sample_as_the_standard_does() -> None:
    """RFC 8785, 3.2.2: the sample's numbers and literals."""
    sample = {"numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 1e-27], "literals": [None, True, False]}

    assert canonical_json(sample) == (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27]}'
    )
