"""Everything that can go wrong in a way the user can mend; each is one clear sentence."""

from __future__ import annotations


class StillroomError(Exception):
    """Base of all errors that are shown to the user as a sentence, without a traceback."""


class SettingsError(StillroomError):
    """`stillroom.toml` is missing, not readable, or says something it cannot say."""


class DecisionsError(StillroomError):
    """`decisions.jsonl` or `verdicts.jsonl` is damaged, contradicts itself, or cannot be written."""


class FileRefused(StillroomError):
    """A source file cannot be read as a whole; nothing of it landed."""


class StoreError(StillroomError):
    """The store cannot be opened: in use, of a newer version, or damaged."""


class PluginError(StillroomError):
    """A plugin is at fault; the sentence names it."""


class UsageError(StillroomError):
    """What was asked for does not exist: a report, a season, an intake, a spec."""


def in_one_line(error: BaseException) -> str:
    """What somebody else's code raised: its kind and its words, on one line; of our own errors the words say it all.

    >>> in_one_line(ValueError("no\\n  such day"))
    'ValueError: no such day'
    """
    text = " ".join(str(error).split())
    if text and isinstance(error, StillroomError):
        return text
    return f"{type(error).__name__}: {text}" if text else type(error).__name__
