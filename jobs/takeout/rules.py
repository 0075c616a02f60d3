"""What of the workshop is taken out, and what of that can be read back. Pure."""

from typing import Any

# Tables that stay here, each with the reason; every other table of the house is taken out.
LEFT_OUT = {
    "staff.Token": "lets a machine in",
    "staff.WrongTry": "wrong secrets, for a quarter of an hour",
    "api.Answer": "answers that are kept for a day",
    "signin.Kept": "the shared cache, with codes that were used",
    "search.Findable": "made from the other tables",
    "batches.Upload": "a file that is being brought in",
    "batches.Finding": "what a dry run said of such a file",
}
# Columns that let somebody in or sign in somebody's name.
SECRET = {"staff.Person": {"password", "signing_secret", "sessions_ended", "last_login"}}
# What an empty workshop reads back, in this order; all else is for reading only.
READ_BACK = (
    "workshop.Counter",
    "customers.Customer",
    "catalogue.Model",
    "intervals.Interval",
    "gear.Item",
    "gear.Identifier",
    "gear.GearSet",
    "gear.Member",
    "clocks.Clock",
    "clocks.Restart",
    "clocks.TakenBack",
    "clocks.Tally",
)
FORMAT = 1
NOTE = (
    "Each table stands here as CSV and as JSON. A text of a CSV that a spreadsheet would take for a formula begins with "
    "an apostrophe. Tables with read_back are read by `manage.py bring_in` into a workshop that has none of them yet; "
    "the others (jobs, records, journal, plans, people, stock, letters) are for reading only. Photographs and certificates are listed; "
    "their bytes stay in the data folder under files. Passwords, signing secrets, tokens, sessions, second factors and "
    "the texts of letters with a private link (sign-in, reminders, bookings, drop-offs) are never taken out."
)


def manifest_faults(manifest: Any) -> list[str]:
    """Why an archive is not read back."""
    if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
        return [f"It is no archive of this house, or not of format {FORMAT}."]
    tables = manifest.get("tables")
    if not isinstance(tables, dict):
        return ["Its manifest names no tables."]
    return [f"Its manifest does not name {label}." for label in READ_BACK if not _whole(tables.get(label))]


def _whole(entry: Any) -> bool:
    return (
        isinstance(entry, dict) and isinstance(entry.get("rows"), int) and isinstance(entry.get("csv"), str)
    )
