"""The API's door to the blank work sheet."""

from django.urls import path

from jobs.worksheet.reads import blank_sheet
from shop.paper.api import paper_door

urlpatterns = [path("jobs/<uuid:uid>/sheet.pdf", paper_door(blank_sheet), name="blank_sheet")]
