"""The API's door to the bench sheet."""

from django.urls import path

from jobs.records.reads import bench_sheet
from shop.paper.api import paper_door

urlpatterns = [path("jobs/<uuid:uid>/bench-sheet.pdf", paper_door(bench_sheet), name="bench_sheet")]
