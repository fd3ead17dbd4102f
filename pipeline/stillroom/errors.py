"""Everything that can go wrong in a way the user can mend; each is one clear sentence."""

from __future__ import annotations


class StillroomError(Exception):
    """Base of all errors that are shown to the user as a sentence, without a traceback."""


class SettingsError(StillroomError):
    """`stillroom.toml` is missing, not readable, or says something it cannot say."""


class FileRefused(StillroomError):
    """A source file cannot be read as a whole; nothing of it landed."""


class StoreError(StillroomError):
    """The store cannot be opened: in use, of a newer version, or damaged."""


class PluginError(StillroomError):
    """A plugin is at fault; the sentence names it."""


class UsageError(StillroomError):
    """What was asked for does not exist: a report, a season, an intake, a spec."""
