"""A lead brings a file in by the API, from the upload to the undoing."""

from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile

from jobs.bringin.tasks import sweep
from shop.customers.models import Customer
from tests.conftest import Api, House

# One good row, a bad one, and one that looks like the customer who is there already.
SHEET = (
    "Name,E-mail\nBo Merrow,bo@example.org\nCy Merrow,nobody at all\nMaja Lindqvist,maja@lindqvist.example\n"
)


def sent(api: Api, text: str = SHEET, **more: Any) -> Any:
    """The answer to a file that is sent."""
    body = {"what": "customers", "file": SimpleUploadedFile("in.csv", text.encode())}
    return api.post("batches", body, format="multipart", **more)


def test_it_works(api: dict[str, Api], house: House) -> None:
    lead, before = api["lead"], Customer.objects.count()
    made = sent(lead)
    assert made.status_code == 201, made.content
    batch = f"batches/{made.json()['uid']}"
    assert made.json()["mapping"] == {"name": "Name", "email": "E-mail"}
    answer = lead.post(f"{batch}/columns", {"mapping": made.json()["mapping"]})
    assert (answer.status_code, answer.json()["state"]) == (200, "checking")
    sweep()
    read = lead.get(batch).json()
    assert (read["state"], read["rows"], read["bad"], read["alike"]) == ("checked", 3, 1, 1)
    found = lead.get(f"{batch}/findings").json()["results"]
    assert {(each["line"], each["bad"]) for each in found} == {(3, True), (4, False)}
    assert lead.post(f"{batch}/begin").status_code == 409  # there is a bad row
    assert lead.post(f"{batch}/begin", {"good_rows": True}).json()["state"] == "bringing in"
    assert lead.post(f"{batch}/begin", {"good_rows": True}).status_code == 409
    sweep()
    assert lead.get(batch).json()["made"] == 2
    assert Customer.objects.count() == before + 2
    assert lead.post(f"{batch}/undo").json()["state"] == "undone"
    assert Customer.objects.count() == before


def test_it_refuses_what_it_must(api: dict[str, Api], house: House) -> None:
    assert sent(api["technician"]).status_code == 403
    assert sent(api["lead"], "").status_code == 400
    batch = f"batches/{sent(api['lead']).json()['uid']}"
    unknown = api["lead"].post(f"{batch}/columns", {"mapping": {"name": "Nom"}})
    assert unknown.json()["errors"][0]["code"] == "no-such-column"
    assert api["technician"].get(batch).status_code == 403
