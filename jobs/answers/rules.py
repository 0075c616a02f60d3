"""What customers answer by a private link, and which of it waits for the counter. Pure."""

from datetime import timedelta
from enum import StrEnum

from shop.gear.rules import Standing


class Said(StrEnum):
    """One answer. Where the gear is gone, the words are those of its standing."""

    ELSEWHERE = "done elsewhere"
    SOLD = Standing.SOLD.value
    LOST = Standing.LOST.value
    PUT_AWAY = Standing.PUT_AWAY.value
    ADDRESS = "other address"
    FEWER = "fewer letters"
    NONE = "no more letters"


GONE = (Said.SOLD, Said.LOST, Said.PUT_AWAY)
# These are done at once: they only take back a consent, and the customer's page can give it again.
AT_ONCE = (Said.FEWER, Said.NONE)
# How far ahead what is due is shown to whoever holds a link: beyond the first rung of the longest ladder.
AHEAD = timedelta(days=60)
