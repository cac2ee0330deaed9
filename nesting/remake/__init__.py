"""A plan made again after something happened: broken, flawed, urgent and cancelled, with the least change."""

from .request import CannotRemake, Request
from .search import Remaking

__all__ = ["CannotRemake", "Remaking", "Request"]
