"""What several reports of one page ask of the same rows is worked out once."""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping
from dataclasses import fields, is_dataclass
from functools import wraps
from threading import Lock
from typing import Final, ParamSpec, TypeVar

import polars as pl

MOST: Final = 4
"""Answers of a function that are kept: of the periods and venues of a page, and no more of a long notebook."""

Asked = ParamSpec("Asked")
Answer = TypeVar("Answer")


def once(work: Callable[Asked, Answer]) -> Callable[Asked, Answer]:
    """The function, which gives the answer it gave before when it is asked the same: nobody changes an answer.

    Frames are the same when their columns and rows are, in this order: reports filter their own.
    """
    kept: OrderedDict[Hashable, Answer] = OrderedDict()
    lock = Lock()

    @wraps(work)
    def asked(*args: Asked.args, **named: Asked.kwargs) -> Answer:
        key = (tuple(map(_key, args)), _key(named))
        with lock:
            if key in kept:
                kept.move_to_end(key)
                return kept[key]
        answer = work(*args, **named)
        with lock:
            kept[key] = answer
            while len(kept) > MOST:
                kept.popitem(last=False)
        return answer

    return asked


def _key(value: object) -> Hashable:
    if isinstance(value, pl.DataFrame):
        rows = hashlib.sha256(value.hash_rows().to_numpy().tobytes()).digest() if value.height else b""
        return tuple(value.schema.items()), value.height, rows
    if isinstance(value, Mapping):
        return tuple((name, _key(part)) for name, part in sorted(value.items()))
    if is_dataclass(value) and not isinstance(value, type):
        return type(value), tuple(_key(getattr(value, one.name)) for one in fields(value))
    hash(value)  # what has none is refused here, since it cannot be told whether it is the same
    return type(value), value
