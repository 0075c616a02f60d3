"""The blank work sheet, printed."""

from django.urls import path

from jobs.worksheet.reads import blank_sheet
from shop.paper.pages import PaperPage

urlpatterns = [path("jobs/<uuid:uid>/sheet.pdf", PaperPage.as_view(read=blank_sheet), name="blank_sheet")]
