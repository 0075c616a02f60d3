"""Every address: the rooms' pages at the root, their API under /api/v1/. Rooms of `jobs` are named as text."""

from django.urls import include, path, re_path
from django.views.generic import RedirectView
from drf_spectacular.views import SpectacularAPIView

from shop.api.api import not_found

PAGES = [
    "shop.staff.pages",
    "shop.search.pages",
    "shop.invitations.pages",
    "shop.signing.pages",
    "shop.signin.pages",
    "shop.you.pages",
    "shop.help.pages",
    "shop.customers.pages",
    "shop.catalogue.pages",
    "shop.drafts.pages",
    "shop.advice.pages",
    "shop.gases.pages",
    "shop.intervals.pages",
    "shop.gear.pages",
    "shop.sets.pages",
    "shop.instruments.pages",
    "shop.stock.pages",
    "shop.counts.pages",
    "shop.alternatives.pages",
    "shop.sites.pages",
    "shop.suppliers.pages",
    "shop.orders.pages",
    "shop.value.pages",
    "shop.clocks.pages",
    "shop.due.pages",
    "shop.health.pages",
    "jobs.flow.pages",
    "jobs.worksheet.pages",
    "jobs.advance.pages",
    "jobs.live.pages",
    "jobs.traces.pages",
    "jobs.records.pages",
    "jobs.notices.pages",
    "jobs.safety.pages",
    "jobs.matches.pages",
    "jobs.planning.pages",
    "jobs.estimates.pages",
    "jobs.checkin.pages",
    "jobs.signoff.pages",
    "jobs.handback.pages",
    "jobs.reminders.pages",
    "jobs.queue.pages",
    "jobs.demand.pages",
    "jobs.takeout.pages",
    "jobs.batches.pages",
    "jobs.rights.pages",
]
API = [
    "shop.staff.api",
    "shop.search.api",
    "shop.invitations.api",
    "shop.signing.api",
    "shop.you.api",
    "shop.customers.api",
    "shop.catalogue.api",
    "shop.drafts.api",
    "shop.advice.api",
    "shop.gases.api",
    "shop.intervals.api",
    "shop.gear.api",
    "shop.sets.api",
    "shop.instruments.api",
    "shop.stock.api",
    "shop.counts.api",
    "shop.alternatives.api",
    "shop.sites.api",
    "shop.suppliers.api",
    "shop.orders.api",
    "shop.value.api",
    "shop.clocks.api",
    "shop.due.api",
    "shop.health.api",
    "jobs.flow.api",
    "jobs.worksheet.api",
    "jobs.tray.api",
    "jobs.bench.api",
    "jobs.advance.api",
    "jobs.live.api",
    "jobs.traces.api",
    "jobs.records.api",
    "jobs.notices.api",
    "jobs.safety.api",
    "jobs.matches.api",
    "jobs.planning.api",
    "jobs.estimates.api",
    "jobs.checkin.api",
    "jobs.signoff.api",
    "jobs.handback.api",
    "jobs.reminders.api",
    "jobs.queue.api",
    "jobs.demand.api",
    "jobs.takeout.api",
    "jobs.batches.api",
    "jobs.rights.api",
]

api_patterns = [path("", include(name)) for name in API] + [
    path("schema", SpectacularAPIView.as_view(), name="schema"),
    re_path(r"^.*$", not_found),
]
FAVICON = RedirectView.as_view(url="/static/web/favicon.svg", http_method_names=["get", "head"])
urlpatterns = [path("", include(name)) for name in PAGES] + [
    path("favicon.ico", FAVICON, name="favicon"),
    path("api/v1/", include((api_patterns, "api"))),
]
handler400 = "shop.web.pages.bad_request"
handler403 = "shop.web.pages.forbidden"
handler404 = "shop.web.pages.not_found"
handler429 = "shop.web.pages.too_many"  # not Django's: the sign-in library looks for it here
handler500 = "shop.web.pages.fault"
