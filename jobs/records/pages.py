"""The bench sheet, printed."""

from django.urls import path

from jobs.records.reads import bench_sheet
from shop.paper.pages import PaperPage

urlpatterns = [
    path("jobs/<uuid:uid>/bench-sheet.pdf", PaperPage.as_view(read=bench_sheet), name="bench_sheet")
]
