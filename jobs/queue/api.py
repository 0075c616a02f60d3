"""The API's doors to the queue and the board of the day."""

from typing import Any

from django.urls import path
from rest_framework.request import Request

from jobs.queue.reads import board, queue, view_of
from jobs.queue.shapes import BoardOut, QueueIn, QueueOut, answer
from shop.api.api import Door, reads
from shop.staff.reads import require
from shop.staff.rules import Can


class Queue(Door):
    @reads(QueueOut, filters=("of", "leg", "technician"), drawn=True)
    def get(self, request: Request) -> Any:
        """The open jobs in order for the person who asks, of=next, me or everybody, with the reasons."""
        require(self.by, Can.SEE)
        shape = QueueIn(data=request.query_params)
        shape.is_valid(raise_exception=True)
        given = shape.validated_data
        given["of"] = view_of(self.by, given["of"])
        return answer(queue(self.by, **given))


class Board(Door):
    @reads(BoardOut)
    def get(self, request: Request) -> Any:
        """The board of the day, for the lead."""
        require(self.by, Can.ASSIGN)
        return board()


urlpatterns = [
    path("queue", Queue.as_view(), name="queue"),
    path("board", Board.as_view(), name="board"),
]
