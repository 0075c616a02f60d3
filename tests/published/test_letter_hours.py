"""Letters through daylight saving, beside zoneinfo: in every zone whose clocks change in 2026 to 2028."""

from datetime import UTC, date, datetime, timedelta
from functools import cache
from zoneinfo import ZoneInfo, available_timezones

from jobs.reminders.rules import Times

QUARTER = timedelta(minutes=15)


@cache
def changes() -> dict[str, list[date]]:
    """Each zone with the local days on which its clocks change, looked for from noon to noon; of those alike the first."""
    found, alike = dict[str, list[date]](), set[str]()
    for name in sorted(available_timezones()):
        zone = ZoneInfo(name)
        noons = [datetime(2026, 1, 1, 12, tzinfo=UTC) + timedelta(days=n) for n in range(1096)]
        offsets = [noon.astimezone(zone).utcoffset() for noon in noons]
        days = [
            noons[n].astimezone(zone).date() for n in range(1, len(noons)) if offsets[n] != offsets[n - 1]
        ]
        if days and str(offsets) not in alike:
            alike.add(str(offsets))
            found[name] = days
    return found


def test_it_works() -> None:
    """Beat asks each quarter of an hour: no day without letters, none in a quiet hour, whichever three hours were chosen.

    Two would not do: Antarctica/Troll puts its clocks forward by two hours.
    """
    assert "Antarctica/Troll" in changes()
    assert any(
        date(2026, 3, 29) in days for days in changes().values()
    )  # the last Sunday of March (2000/84/EC)
    for name, days in changes().items():
        zone = ZoneInfo(name)
        for day in {each + timedelta(days=n) for each in days for n in (-1, 0)}:
            begin = datetime(day.year, day.month, day.day, tzinfo=UTC) - timedelta(hours=15)
            local = [(begin + n * QUARTER).astimezone(zone) for n in range(54 * 4)]
            for hour in (0, 1, 2, 21):
                times = Times(begin=hour, end=hour + 3)
                went = {each for each in local if times.may_go(each) and each.date() == day}
                assert went, (name, day, hour)
                assert {each.hour for each in went} <= {hour, hour + 1, hour + 2}, (name, day, hour)
                assert not any(Times(days=[day.isoformat()]).may_go(each) for each in went)
