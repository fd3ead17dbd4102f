"""A command in a real pseudo-terminal of 80 columns: what it shows, and what a person types."""

from __future__ import annotations

import os
import re
import sys
from pathlib import Path

import pexpect

ESCAPES = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")
PROMPT = r"\n  > $"


class Terminal:
    """`stillroom COMMAND` as a person has it before them."""

    def __init__(self, *words: object, house: Path) -> None:
        self.child = pexpect.spawn(
            sys.executable,
            ["-m", "stillroom", *map(str, words), "--house", str(house)],
            dimensions=(50, 80),
            encoding="utf-8",
            timeout=120,
            env={**os.environ, "TERM": "dumb"},
        )
        self.shown = ""

    def asks(self) -> str:
        """What is shown until an answer is waited for."""
        self.child.expect(PROMPT)
        return self._seen(self.child.before)

    def says(self, line: str) -> str:
        """Type a line, and give what is shown until the next answer is waited for."""
        self.child.sendline(line)
        return self.asks()

    def goes_on(self, line: str) -> str | None:
        """Type a line, and give what is shown until the next answer is waited for; None where it has ended."""
        self.child.sendline(line)
        ended = self.child.expect([PROMPT, pexpect.EOF])
        seen = self._seen(self.child.before)
        if ended:
            self.child.close()
            return None
        return seen

    def ends(self, line: str | None = None) -> tuple[int, str]:
        """Type a last line; the exit code, and what is shown until the end."""
        if line is not None:
            self.child.sendline(line)
        self.child.expect(pexpect.EOF)
        self.child.close()
        return self.child.exitstatus, self._seen(self.child.before)

    def _seen(self, text: str) -> str:
        text = ESCAPES.sub("", text).replace("\r\n", "\n")
        self.shown += text + "\n  > "
        assert max(map(len, text.split("\n"))) <= 80, text
        assert "Traceback" not in text
        return text
