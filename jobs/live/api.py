"""The API's doors for a logger: begin, chunks by number, the end; what has come so far."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.bench.models import Attempt
from jobs.bench.shapes import AttemptOut
from jobs.flow.models import Job
from jobs.live import actions
from jobs.live.models import Chunk, Logging
from jobs.live.reads import loggings
from jobs.live.shapes import ChunkIn, ChunkOut, EndIn, LoggingIn, LoggingOut, ThrowAwayIn
from shop.api.api import Door, reads, verb
from shop.staff.reads import require
from shop.staff.rules import Can


class Begin(Door):
    @verb(LoggingIn, LoggingOut, creates=True)
    def post(self, request: Request, uid: UUID, key: str, data: Any) -> Logging:
        """Begin to log a test of a job; its samples then come in chunks."""
        return actions.begin(by=self.by, job=get_object_or_404(Job, uid=uid), key=key, **data)


class OneLogging(Door):
    @reads(LoggingOut)
    def get(self, request: Request, uid: UUID) -> Logging:
        """A logging: its state and how many chunks have come."""
        require(self.by, Can.SEE)
        return get_object_or_404(loggings(), uid=uid)


class Chunks(Door):
    @verb(ChunkIn, ChunkOut)
    def put(self, request: Request, uid: UUID, n: int, data: Any) -> Chunk:
        """Add the next chunk, numbered from 1. After a lost line send the same one again: it is kept once."""
        return actions.add_chunk(by=self.by, logging=get_object_or_404(Logging, uid=uid), n=n, **data)


class End(Door):
    @verb(EndIn, AttemptOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Attempt:
        """End a logging: it is judged and kept as an attempt, as an uploaded file would be."""
        return actions.end(by=self.by, logging=get_object_or_404(loggings(), uid=uid), **data)


class ThrowAway(Door):
    @verb(ThrowAwayIn, LoggingOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Logging:
        """Close a logging that is to be no attempt; it is kept with the reason."""
        return actions.throw_away(by=self.by, logging=get_object_or_404(loggings(), uid=uid), **data)


urlpatterns = [
    path("jobs/<uuid:uid>/tests/<slug:key>/loggings", Begin.as_view(), name="begin_logging"),
    path("loggings/<uuid:uid>", OneLogging.as_view(), name="logging"),
    path("loggings/<uuid:uid>/chunks/<int:n>", Chunks.as_view(), name="chunk"),
    path("loggings/<uuid:uid>/end", End.as_view(), name="end_logging"),
    path("loggings/<uuid:uid>/throw-away", ThrowAway.as_view(), name="throw_logging_away"),
]
