"""Long work of the app: done in processes of its own, for the data as they were at one entry."""

from moisturemap.web.work.lane import Lane, OwnProcess, SameThread, Unwanted, WorkEnded, in_turn
from moisturemap.web.work.question import DataKeys, Question

__all__ = [
    "DataKeys",
    "Lane",
    "OwnProcess",
    "Question",
    "SameThread",
    "Unwanted",
    "WorkEnded",
    "in_turn",
]
