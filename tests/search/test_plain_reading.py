"""Whatever is kept and asked: both engines find what a plain reading of every row would find."""

from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from shop.search.actions import put
from shop.search.models import Findable
from shop.search.reads import exactly, groups, matching
from shop.search.rules import Kind, Thing, question, words_of

# Few signs, so that fragments meet; among them what SQL, FTS and folding treat in their own way.
SIGNS = "ab01é%_\"'\\*^-+( )Aß東京ن.:"
texts = st.text(alphabet=SIGNS, max_size=12) | st.text(max_size=6)
things = st.lists(st.tuples(st.sampled_from(Kind), texts, texts, texts), max_size=8)


def plain(thing: Thing, asked: str) -> bool:
    """Whether a thing holds what is asked, without any engine."""
    asks, text = question(asked), words_of(thing)
    return bool(asks.words) and (
        all(word in text for word in asks.words) or any(other in text for other in asks.others)
    )


class PlainReading(TestCase):
    @settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
    @given(things, texts)
    @example([(Kind.CUSTOMER, "K-0001", "aß", "é")], "ASS")
    @example([(Kind.PART, "", '"', "%")], '"')
    @example([(Kind.JOB, "1", "a\0b", "\ud800")], "ab")
    def test_it_works(self, given: list[tuple[Kind, str, str, str]], asked: str) -> None:
        kept = [
            Thing(f"x:{i}", kind, _storable(number), _storable(title), f"/{i}", _storable(note))
            for i, (kind, number, title, note) in enumerate(given)
        ]
        for thing in kept:
            put(thing=thing)

        expected = {thing.subject for thing in kept if plain(thing, asked)}
        whole = {
            thing.subject for thing in kept if any(part in words_of(thing) for part in question(asked).exact)
        }

        assert {row.subject for row in matching(asked)} == expected
        assert {row.subject for each in groups(asked) for row in each["rows"]} == expected
        assert {row.subject for row in exactly(asked)} == whole
        assert whole <= expected
        assert Findable.objects.count() == len(kept)


def _storable(text: str) -> str:
    """What a shape lets through to a room: no NUL and no half of a surrogate pair."""
    return text.replace("\0", "").encode(errors="ignore").decode()
